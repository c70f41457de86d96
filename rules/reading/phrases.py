"""Phrases written in word classes, and where a text says them.

Theory of operation
-------------------
``phrases.yaml`` holds phrases such as ``HEAT .3 NEG LIGHT* WORK``. Capitals are classes, small letters
are the words themselves, ``/`` means or, ``?`` zero or one, ``*`` up to four. ``.3`` is a gap of up
to three words without a negation (and without a number, where a section reads numbers); ``~3`` a gap
that may hold anything but the end of a sentence. ``^ $`` are the ends of the text, ``< >`` of a clause,
``!X`` means that X does not follow.

A text is turned into a line of characters, one for each class or word that a section mentions, so
that a phrase is an ordinary regular expression over that line. A section sees only the words its own
phrases mention: a longer phrase of another section never hides a word from it. Within a section the
longest phrase counts ("cold water" is not cold), save those of the classes under ``see_through``.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from rules.data import table
from rules.reading.vocabulary import Phrase, vocabulary
from rules.reading.words import Sort, Word

__all__ = ["Found", "Line", "Section", "section"]

_END, _WEAK, _STRONG = "\x01", "\x02", "\x03"
_ANY = "[^\x01-\x03]*"
_FIRST_SIGN = 0x4E00


@dataclass(frozen=True, slots=True)
class Found:
    """A phrase found: its first and last word, and the numbers in it, as indices of words."""

    first: int
    last: int
    numbers: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class _Phrase:
    pattern: re.Pattern[str]
    # One bit for each sign of which a line must hold at least one, for each part that must come.
    needs: tuple[int, ...]
    numbers: int


class Line:
    """A text as one section sees it."""

    __slots__ = ("_present", "_signs", "_starts", "groups", "marks", "text", "words")

    def __init__(self, words: Sequence[Word], seen: Section) -> None:
        self.words = words
        self._signs = seen.signs
        self.groups: list[tuple[int, int]] = []
        self.marks: list[str] = []
        self._starts: list[int] = []
        self._present = 0
        texts = [word.text for word in words]
        index = position = 0
        while index < len(words):
            marks, length, bits = seen.marks_at(words, texts, index)
            self.groups.append((index, index + length - 1))
            self.marks.append(marks)
            self._starts.append(position)
            self._present |= bits
            position += len(marks)
            index += length
        self.text = "".join(self.marks)

    def find(self, phrases: Iterable[_Phrase]) -> Iterator[Found]:
        """Every place where one of the phrases is said."""
        present = self._present
        for phrase in phrases:
            for need in phrase.needs:
                if not need & present:
                    break
            else:
                for match in phrase.pattern.finditer(self.text):
                    if match.end() > match.start():
                        yield self._found(match, phrase.numbers)

    def says(self, phrases: Iterable[_Phrase]) -> bool:
        """Whether one of the phrases is said at all."""
        return next(self.find(phrases), None) is not None

    def _found(self, match: re.Match[str], numbers: int) -> Found:
        first = bisect_right(self._starts, match.start()) - 1
        last = bisect_right(self._starts, match.end() - 1) - 1
        at = (match.start(group) for group in range(1, numbers + 1))
        held = tuple(self.groups[bisect_right(self._starts, a) - 1][0] for a in at if a >= 0)
        return Found(self.groups[first][0], self.groups[last][1], held)

    def group_of(self, word: int) -> int:
        """The group that holds a word."""
        return bisect_right(self.groups, (word, len(self.words))) - 1

    def is_a(self, group: int, name: str) -> bool:
        """Whether the words of a group are of a class."""
        sign = self._signs.get(name)
        return sign is not None and sign in self.marks[group]

    def is_break(self, group: int) -> bool:
        """Whether a group is punctuation."""
        return self.marks[group] in (_WEAK, _STRONG)

    def clause(self, word: int) -> range:
        """The groups of the clause that holds a word."""
        first = last = self.group_of(word)
        while first > 0 and not self.is_break(first - 1):
            first -= 1
        while last + 1 < len(self.groups) and not self.is_break(last + 1):
            last += 1
        return range(first, last + 1)


class Section:
    """One part of ``phrases.yaml``: named lists of phrases and the classes they are made of."""

    def __init__(self, raw: dict[str, Any]) -> None:
        self.signs: dict[str, str] = {}
        self._literals: dict[str, str] = {}
        self._no_gap = raw.get("no_gap_over", ["NEG"])
        for name in (*raw.get("reads", ()), *self._no_gap):
            self._sign(name)
        self.lists = {
            name: tuple(self._compiled(text) for text in texts)
            for name, texts in raw["phrases"].items()
        }
        see_through = frozenset(table("phrases")["see_through"])
        hiding = (sign for name, sign in self.signs.items() if name not in see_through)
        self._hiding = frozenset(hiding)
        self._turns = vocabulary().turns
        self._phrases = self._index()
        self._lengths = self._lengths_by_first_word()

    def __getitem__(self, name: str) -> tuple[_Phrase, ...]:
        return self.lists[name]

    def standing(self, line: Line, name: str) -> list[Found]:
        """Where a list is said, in order, less what its ``_not`` list takes back."""
        found = sorted(line.find(self.lists[name]), key=lambda f: (f.first, f.last))
        if not found or f"{name}_not" not in self.lists:
            return found
        back = list(line.find(self.lists[f"{name}_not"]))
        return [f for f in found if not any(b.first <= f.last and f.first <= b.last for b in back)]

    def line(self, words: Sequence[Word]) -> Line:
        """The text as this section sees it."""
        return Line(words, self)

    def marks_at(
        self, words: Sequence[Word], texts: Sequence[str], index: int
    ) -> tuple[str, int, int]:
        """The signs of the longest phrase that begins at a word, its length in words, its bits."""
        word = words[index]
        if word.sort is Sort.WEAK_BREAK or word.text in self._turns:
            return _WEAK, 1, 0
        if word.sort is Sort.STRONG_BREAK:
            return _STRONG, 1, 0
        number = self._number_sign(word)
        through = ""
        for length in self._lengths.get(word.text, ()):
            phrase = tuple(texts[index : index + length])
            known = self._phrases.get(phrase)
            if known is None or len(phrase) < length:
                continue
            if length > 1 and not self._hiding.intersection(known):
                through += known
                continue
            signs = known + through + (number if length == 1 else "")
            return signs + _END, length, _bits(signs)
        signs = number + through
        return signs + _END, 1, _bits(signs)

    def _number_sign(self, word: Word) -> str:
        if word.sort is Sort.NUMBER:
            return self.signs.get("NUM", "")
        return self.signs.get("COUNT", "") if word.value is not None else ""

    def _index(self) -> dict[Phrase, str]:
        signs: dict[Phrase, str] = defaultdict(str)
        classes = vocabulary().classes
        for name, sign in self.signs.items():
            for phrase in classes.get(name, ()):
                signs[phrase] += sign
        for literal, sign in self._literals.items():
            signs[tuple(literal.split("_"))] += sign
        return dict(signs)

    def _lengths_by_first_word(self) -> dict[str, tuple[int, ...]]:
        lengths: dict[str, set[int]] = defaultdict(set)
        for phrase in self._phrases:
            lengths[phrase[0]].add(len(phrase))
        return {word: tuple(sorted(found, reverse=True)) for word, found in lengths.items()}

    def _sign(self, name: str) -> str:
        known = self.signs if name.isupper() else self._literals
        if name.isupper() and name not in vocabulary().classes and name not in ("NUM", "COUNT"):
            raise KeyError(f"no words for class {name}")
        if name not in known:
            known[name] = chr(_FIRST_SIGN + len(self.signs) + len(self._literals))
        return known[name]

    def _compiled(self, text: str) -> _Phrase:
        parts: list[str] = []
        needs: list[int] = []
        numbers = 0
        for token in text.split():
            fixed = self._fixed(token)
            if fixed is not None:
                parts.append(fixed)
                continue
            ahead, body, often = _taken_apart(token)
            element, signs = self._element(body.split("/"))
            if body == "NUM" and not ahead and not often:
                element, numbers = f"({element})", numbers + 1
            parts.append(f"(?!{element})" if ahead else f"(?:{element}){often}")
            if not ahead and not often:
                needs.append(_bits(signs))
        needs.sort(key=int.bit_count)
        return _Phrase(re.compile("".join(parts)), tuple(needs), numbers)

    def _element(self, names: Sequence[str]) -> tuple[str, str]:
        """One of the names, as an expression, and the signs of which a line needs one.

        A literal of several words is those words in a row, so that it hides none of them, or a mark
        on the first, where a phrase of a class hides them.
        """
        single = "".join(sorted({self._sign(name) for name in names}))
        rows = [
            [self._sign(part) for part in name.split("_") if part] for name in names if "_" in name
        ]
        ways = ["".join(map(_one_of, row)) for row in rows] + [_one_of(single)]
        return "|".join(ways), single + "".join(row[0] for row in rows)

    def _fixed(self, token: str) -> str | None:
        if token in _ENDS:
            return _ENDS[token]
        if token[0] == "." and token[1:].isdigit():
            solid = "".join(self._sign(name) for name in self._no_gap)
            return f"(?:[^\x01-\x03{solid}]*{_END}){{0,{token[1:]}}}?"
        if token[0] == "~" and token[1:].isdigit():
            return f"(?:{_ANY}[\x01\x02]){{0,{token[1:]}}}?"
        return None


_ENDS = {
    "^": r"\A[\x02\x03]*",
    "$": r"[\x02\x03]*\Z",
    "<": r"(?:\A|(?<=[\x02\x03]))",
    ">": r"(?=[\x02\x03]|\Z)",
}


def _taken_apart(token: str) -> tuple[bool, str, str]:
    """Whether it is a look ahead, the names, and how often they may come."""
    ahead = token[0] == "!"
    body = token[1:] if ahead else token
    if body[-1] == "?":
        return ahead, body[:-1], "?"
    if body[-1] == "*":
        return ahead, body[:-1], "{0,4}"
    return ahead, body, ""


def _one_of(signs: str) -> str:
    return f"{_ANY}[{signs}]{_ANY}{_END}"


def _bits(signs: str) -> int:
    bits = 0
    for sign in signs:
        bits |= 1 << (ord(sign) - _FIRST_SIGN)
    return bits


@cache
def section(name: str) -> Section:
    """A section of ``phrases.yaml``, compiled once per process."""
    return Section(table("phrases")[name])
