"""Plain lower-case letters from whatever a telephone sends, with the way back to the original text.

Theory of operation
-------------------
Every rule after this one compares plain letters: no accents, no capitals, no apostrophes inside
words, no invisible characters, no letters of other alphabets that only look Latin. Folding works one
character at a time, so that each folded character knows the index of the character it came from.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import cached_property

__all__ = ["LONGEST_TEXT", "Folded", "fold"]

# Longer than any text a telephone sends; what comes after is not read.
LONGEST_TEXT = 4000

_LOOKALIKES = str.maketrans(
    "аеорсухіјѕԁһкмтвнАЕОРСУХІЈЅКМТВНοικνταρΟΙΚΝΤΑΡΕΗΜΒΧ",
    "aeopcyxijsdhkmtbhaeopcyxijskmtbhoikvtapoikntapehmbx",
)
_SIGNS = {
    "º": "°",
    "˚": "°",
    "ª": "a",
    "½": ".5",
    "…": "...",
    "–": "-",
    "—": ",",
    "−": "-",
    "℃": "°c",
    "℉": "°f",
    "\u2028": "\n",
    "\u2029": "\n",
}
_CONTROLS = {"\t": " ", "\0": " "}
_APOSTROPHES = frozenset("'’‘`´ʼ＇′")
_PIECE = re.compile(r"\d{1,2}:\d\d(?!\d)|\d+(?:[.,]\d+)?|[ap]\.m\b\.?|[^\W\d_]+|[^\w\s]|_")
# What needs no thought: letters, digits and signs of ASCII, and one space between them.
_PLAIN_RUN = re.compile(r"[!-&(-_a-~]+(?: [!-&(-_a-~]+)*")


@dataclass(frozen=True)
class Folded:
    """The folded text; ``origin[i]`` is the index in the original of folded character ``i``."""

    text: str
    origin: tuple[int, ...]

    @cached_property
    def pieces(self) -> list[re.Match[str]]:
        """Its words, numbers and single signs, in order."""
        return list(_PIECE.finditer(self.text))


def fold(text: str) -> Folded:
    """Fold at most ``LONGEST_TEXT`` characters; any string is accepted."""
    kept: list[str] = []
    origin: list[int] = []
    text = text[:LONGEST_TEXT]
    index = 0
    while index < len(text) and len(origin) < LONGEST_TEXT:
        run = _PLAIN_RUN.match(text, index)
        if run is not None:
            kept.append(run.group().lower())
            origin.extend(range(index, run.end()))
            index = run.end()
            continue
        plain = _folded(text, index)
        if plain != " " or not kept or kept[-1] not in (" ", "\n"):
            kept.append(plain)
            origin.extend([index] * len(plain))
        index += 1
    return Folded("".join(kept), tuple(origin))


def _folded(text: str, index: int) -> str:
    """A single character, folded; nothing of an apostrophe inside a word."""
    character = text[index]
    if character in _APOSTROPHES:
        return "" if _drops_out(text, index) else " "
    if character.isascii():
        return character.lower() if character >= " " else _CONTROLS.get(character, "\n")
    return _plain(character)


def _drops_out(text: str, index: int) -> bool:
    """An apostrophe inside a word goes, except in "I'll" and "we're": "ill", "were" are other words."""
    inside = 0 < index < len(text) - 1 and text[index - 1].isalnum() and text[index + 1].isalpha()
    return inside and text[index + 1 : index + 3].lower() not in ("ll", "re")


def _plain(character: str) -> str:
    if character in _SIGNS:
        return _SIGNS[character]
    decomposed = unicodedata.normalize("NFKD", character.translate(_LOOKALIKES))
    letters: list[str] = []
    for part in decomposed.lower():
        category = unicodedata.category(part)
        # Marks, invisible formatting and lone surrogates carry no meaning; emoji skin tones neither.
        if category[0] == "M" or category in ("Cf", "Cs", "Cc", "Cn", "Co") or part in "🏻🏼🏽🏾🏿":
            continue
        letters.append(" " if category[0] == "Z" else part)
    return "".join(letters)
