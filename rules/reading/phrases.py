"""Phrases written in word classes, and where a text says them.

Theory of operation
-------------------
``phrases.yaml`` holds phrases such as ``HEAT .3 NEG LIGHT* WORK``; ``notation`` says how to write them.
A text is turned into a line of characters, one for each class or word that a section mentions, so
that a phrase is an ordinary regular expression over that line. A section sees only the words its own
phrases mention: a longer phrase of another section never hides a word from it. Within a section the
longest phrase counts ("cold water" is not cold), save those of the classes under ``see_through``.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from rules.data import table
from rules.reading.notation import (
    END,
    FIRST_SIGN,
    STRONG,
    WEAK,
    Gaps,
    Pattern,
    bits_of,
    compiled,
    signs_of,
)
from rules.reading.vocabulary import Phrase, vocabulary
from rules.reading.words import Sort, Word

__all__ = ["Found", "Line", "Section", "section"]


@dataclass(frozen=True, slots=True)
class Found:
    """A phrase found: its first and last word, and the numbers in it, as indices of words."""

    first: int
    last: int
    numbers: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class _Known:
    """What a phrase of words is to a section, and whether it hides the shorter ones in it."""

    signs: str
    bits: int
    length: int
    hides: bool


@dataclass(frozen=True, slots=True)
class Phrases:
    """A named list of phrases."""

    name: str
    patterns: tuple[Pattern, ...]


class Line:
    """A text as one section sees it."""

    __slots__ = (
        "_ends",
        "_likely",
        "_present",
        "_signs",
        "_starts",
        "groups",
        "marks",
        "text",
        "words",
    )

    def __init__(self, words: Sequence[Word], seen: Section) -> None:
        self.words = words
        self._signs = seen.signs
        self.groups: list[tuple[int, int]] = []
        self.marks: list[str] = []
        self._starts: list[int] = []
        self._ends: list[int] = []
        self._present = 0
        texts = [word.text for word in words]
        index = position = 0
        while index < len(words):
            if seen.knows(words[index]):
                marks, length, bits, reach = seen.marks_at(words, texts, index)
            else:
                marks, length, bits, reach = END, 1, 0, 1
            self.groups.append((index, index + length - 1))
            self._ends.append(index + reach - 1)
            self.marks.append(marks)
            self._starts.append(position)
            self._present |= bits
            position += len(marks)
            index += length
        self.text = "".join(self.marks)
        self._likely = seen.likely(self.text)

    def find(self, phrases: Phrases) -> Iterator[Found]:
        """Every place where one of the phrases is said."""
        if phrases.name not in self._likely:
            return
        present = self._present
        for order in sorted(self._likely[phrases.name]):
            phrase = phrases.patterns[order]
            if all(need & present for need in phrase.needs):
                for match in phrase.expression.finditer(self.text):
                    if match.end() > match.start():
                        yield self._found(match, phrase.numbers)

    def says(self, phrases: Phrases) -> bool:
        """Whether one of the phrases is said at all."""
        return next(self.find(phrases), None) is not None

    def _found(self, match: re.Match[str], numbers: int) -> Found:
        first = bisect_right(self._starts, match.start()) - 1
        last = bisect_right(self._starts, match.end() - 1) - 1
        at = (match.start(group) for group in range(1, numbers + 1))
        held = tuple(self.groups[bisect_right(self._starts, a) - 1][0] for a in at if a >= 0)
        return Found(self.groups[first][0], self._ends[last], held)

    def group_of(self, word: int) -> int:
        """The group that holds a word."""
        return bisect_right(self.groups, (word, len(self.words))) - 1

    def is_a(self, group: int, name: str) -> bool:
        """Whether the words of a group are of a class."""
        sign = self._signs.get(name)
        return sign is not None and sign in self.marks[group]

    def is_break(self, group: int) -> bool:
        """Whether a group is punctuation."""
        return self.marks[group] in (WEAK, STRONG)

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
        gaps = Gaps(raw.get("no_gap_over", ["NEG"]), raw.get("things", ()), raw.get("places", ""))
        for name in (*raw.get("reads", ()), *gaps.solid, *gaps.things):
            self._sign(name)
        self.lists = {
            name: Phrases(name, tuple(compiled(text, self._sign, gaps) for text in texts))
            for name, texts in raw["phrases"].items()
        }
        self._by_sign = self._needing()
        see_through = frozenset(table("phrases")["see_through"]).difference(raw.get("hides", ()))
        hiding = (sign for name, sign in self.signs.items() if name not in see_through)
        self._hiding = frozenset(hiding)
        self._turns = vocabulary().turns
        self._phrases = self._index()
        self._lengths = self._lengths_by_first_word()

    def __getitem__(self, name: str) -> Phrases:
        return self.lists[name]

    def _needing(self) -> dict[str, tuple[tuple[str, int], ...]]:
        """By sign, the phrases that cannot be said without it or one of a few others."""
        found: dict[str, list[tuple[str, int]]] = defaultdict(list)
        for name, listed in self.lists.items():
            for order, pattern in enumerate(listed.patterns):
                for sign in signs_of(pattern.need):
                    found[sign].append((name, order))
        return {sign: tuple(phrases) for sign, phrases in found.items()}

    def likely(self, text: str) -> dict[str, set[int]]:
        """By list, the phrases that a line may say, judging by the rarest sign that each needs."""
        found: dict[str, set[int]] = defaultdict(set)
        for sign in {"", *text}:
            for name, order in self._by_sign.get(sign, ()):
                found[name].add(order)
        return found

    def standing(self, line: Line, name: str) -> list[Found]:
        """Where a list is said, in order, less what its ``_not`` list takes back."""
        found = list(line.find(self.lists[name]))
        if not found:
            return []
        found.sort(key=lambda f: (f.first, f.last))
        if f"{name}_not" not in self.lists:
            return found
        back = list(line.find(self.lists[f"{name}_not"]))
        return [f for f in found if not any(b.first <= f.last and f.first <= b.last for b in back)]

    def line(self, words: Sequence[Word]) -> Line:
        """The text as this section sees it."""
        return Line(words, self)

    def knows(self, word: Word) -> bool:
        """Whether a word can begin a phrase of the section, or is a number or a break."""
        if word.text in self._lengths or word.value is not None or word.text in self._turns:
            return True
        return word.sort is not Sort.WORD

    def marks_at(
        self, words: Sequence[Word], texts: Sequence[str], index: int
    ) -> tuple[str, int, int, int]:
        """The signs of the longest phrase that begins at a word, its length in words, its bits.

        Last comes how many words the longest phrase reaches that hides none of them.
        """
        word = words[index]
        if word.sort is Sort.WEAK_BREAK or word.text in self._turns:
            return WEAK, 1, 0, 1
        if word.sort is Sort.STRONG_BREAK:
            return STRONG, 1, 0, 1
        number, through, reach = self._number_sign(word), "", 1
        for length in self._lengths.get(word.text, ()):
            known = self._phrases.get(tuple(texts[index : index + length]))
            if known is None or known.length < length:
                continue
            if not known.hides:
                through += known.signs
                reach = max(reach, length)
                continue
            if length == 1:
                through += number
            more = bits_of(through) if through else 0
            return known.signs + through + END, length, known.bits | more, max(reach, length)
        through += number
        return through + END, 1, bits_of(through), reach

    def _number_sign(self, word: Word) -> str:
        if word.sort is Sort.NUMBER:
            return self.signs.get("NUM", "")
        return self.signs.get("COUNT", "") if word.value is not None else ""

    def _index(self) -> dict[Phrase, _Known]:
        signs: dict[Phrase, str] = defaultdict(str)
        classes = vocabulary().classes
        for name, sign in self.signs.items():
            for phrase in classes.get(name, ()):
                signs[phrase] += sign
        for literal, sign in self._literals.items():
            signs[tuple(literal.split("_"))] += sign
        return {
            phrase: _Known(
                found,
                bits_of(found),
                len(phrase),
                len(phrase) == 1 or bool(self._hiding.intersection(found)),
            )
            for phrase, found in signs.items()
        }

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
            known[name] = chr(FIRST_SIGN + len(self.signs) + len(self._literals))
        return known[name]


@cache
def section(name: str) -> Section:
    """A section of ``phrases.yaml``, compiled once per process."""
    return Section(table("phrases")[name])
