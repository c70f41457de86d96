"""From what a mail carries to what the tenant wrote: HTML to text, quotes and footers cut.

Everything works line by line on text that is already short, so its cost is bounded by its length.
"""

from __future__ import annotations

import re
import unicodedata
from html.parser import HTMLParser

__all__ = ["TEXT_LONGEST", "cleaned", "from_html", "without_quotes"]

TEXT_LONGEST = 4000
HTML_LONGEST = 64 * 1024
LINE_LONGEST = 400  # quote headers and footers are short; a longer line is the tenant's

_BLOCK_NAMES = "address article br div dd dt h1 h2 h3 h4 h5 h6 hr li ol p pre table td tr ul"
_UNSEEN_NAMES = "blockquote head noscript object script style template title"
_VOID_NAMES = "area base br col embed hr img input link meta source track wbr"
_BLOCKS = frozenset(_BLOCK_NAMES.split())
_UNSEEN = frozenset(_UNSEEN_NAMES.split())
_VOID = frozenset(_VOID_NAMES.split())  # elements that hold nothing and never end
_HIDING = re.compile(r"display\s*:\s*none|visibility\s*:\s*hidden|font-size\s*:\s*0(?![.\d])")

_DECLARATION = re.compile(r"<[!?][^<>]{0,2000}>")
_STRAY_OPENING = re.compile(r"<(?!/?[a-zA-Z][^<>]{0,2000}>)")
_DIRECTIONS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\ufeff")


class _TextOnly(HTMLParser):
    """Collects what a reader would see."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.seen: list[str] = []
        self._hidden: list[str] = []  # open elements from the hidden one inwards

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _BLOCKS:
            self.seen.append("\n")
        if tag not in _VOID and (self._hidden or tag in _UNSEEN or _hides(dict(attrs))):
            self._hidden.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag in self._hidden:
            while self._hidden.pop() != tag:
                pass
        if tag in _BLOCKS:
            self.seen.append("\n")

    def handle_data(self, data: str) -> None:
        if not self._hidden:
            self.seen.append(data)


def _hides(attributes: dict[str, str | None]) -> bool:
    style = (attributes.get("style") or "").lower()
    return "hidden" in attributes or bool(_HIDING.search(style))


def from_html(markup: str) -> str:
    """The words of an HTML page without scripts, styles, hidden and quoted parts."""
    parser = _TextOnly()
    parser.feed(_tame(markup[:HTML_LONGEST]))
    parser.close()
    lines = (" ".join(line.split()) for line in "".join(parser.seen).split("\n"))
    return "\n".join(line for line in lines if line)


def _tame(markup: str) -> str:
    """Markup in which every ``<`` opens a tag that ends before the next one.

    The library's parser needs seconds for 16 KB of tags that never end, and stops at odd
    declarations; after this it has neither.
    """
    kept: list[str] = []
    at = 0
    while (start := markup.find("<!--", at)) >= 0 and (end := markup.find("-->", start)) >= 0:
        kept.append(markup[at:start])
        at = end + 3
    kept.append(markup[at:])
    return _STRAY_OPENING.sub("&lt;", _DECLARATION.sub("", "".join(kept)))


def cleaned(text: str) -> str:
    """Lines ended alike, no control characters, no more than a text may hold."""
    short = text[: 4 * TEXT_LONGEST].replace("\r\n", "\n").replace("\r", "\n")
    kept = (c for c in short if c in "\n\t" or not _is_stray(c))
    return "".join(kept).strip()[:TEXT_LONGEST]


def _is_stray(character: str) -> bool:
    """Controls, halves of pairs, and marks that turn the direction of what follows."""
    return unicodedata.category(character) in {"Cc", "Cs"} or character in _DIRECTIONS


_QUOTE_HEAD = re.compile(r"(on|el|le|am)\b.*[0-9@].*")
_QUOTE_TAIL = ("wrote:", "escribió:", "escribio:", "said:")
_SEPARATOR = re.compile(
    r"-{2,}\s*(original message|forwarded message|mensaje original|mensaje reenviado)"
)
_FOOTERS = ("sent from my ", "sent via my ", "enviado desde mi ", "get it on your phone")
_MAIL_FIELDS = ("sent:", "to:", "date:", "subject:", "enviado:", "para:", "fecha:", "asunto:")


def without_quotes(text: str) -> str:
    """What is left of a reply when the text it answers and the sender's footer are taken out."""
    lines = text[:TEXT_LONGEST].split("\n")
    kept: list[str] = []
    index = 0
    while index < len(lines):
        taken = _quote_header(lines, index)
        if taken:
            index += taken
            if not _quoted_next(lines, index):
                break  # the quoted text follows without marks, to the end
            continue
        line = lines[index].strip()
        if _ends_the_mail(line, lines, index):
            break
        if not line.startswith(">") and not _is_footer(line):
            kept.append(lines[index].rstrip())
        index += 1
    return "\n".join(kept).strip()


def _quote_header(lines: list[str], index: int) -> int:
    """How many lines from here say who wrote what when: 0, 1 or, when folded, 2."""
    first = lines[index].strip().lower()
    if len(first) > LINE_LONGEST or not first.startswith(("on ", "el ", "le ", "am ")):
        return 0
    if first.endswith(_QUOTE_TAIL):
        return 1 if _QUOTE_HEAD.fullmatch(first) else 0
    if index + 1 < len(lines):
        second = lines[index + 1].strip().lower()
        both = f"{first} {second}"
        if len(second) <= LINE_LONGEST and second.endswith(_QUOTE_TAIL):
            return 2 if _QUOTE_HEAD.fullmatch(both) else 0
    return 0


def _quoted_next(lines: list[str], index: int) -> bool:
    following = next((line for line in lines[index : index + 3] if line.strip()), "")
    return following.lstrip().startswith(">")


def _ends_the_mail(line: str, lines: list[str], index: int) -> bool:
    """A signature mark, a separator, or the copied head of an older mail."""
    low = line.lower()
    if low == "--" or (len(low) >= 10 and set(low) == {"_"}):
        return True
    if len(low) <= LINE_LONGEST and _SEPARATOR.match(low):
        return True
    copied = low.startswith(("from:", "de:")) and index + 1 < len(lines)
    return copied and lines[index + 1].strip().lower().startswith(_MAIL_FIELDS)


def _is_footer(line: str) -> bool:
    return len(line) <= 60 and line.lower().startswith(_FOOTERS)
