"""A text as one section of phrases sees it: a row of signs, and where its phrases are said in it."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import NamedTuple

from rules.reading.marks import Mark
from rules.reading.notation import STRONG, WEAK, Pattern
from rules.reading.shortlist import Shortlist
from rules.reading.words import Words

__all__ = ["Found", "Line", "Phrase", "Phrases"]

# The name of its list, and itself.
Phrase = tuple[str, Pattern]


# Not frozen: there are many in a text, and a frozen one takes three times as long to make.
@dataclass(slots=True)
class Found:
    """A phrase found: its first and last word, and the numbers in it, as indices of words."""

    first: int
    last: int
    numbers: tuple[int, ...] = ()

    def meets(self, other: Found) -> bool:
        """Whether the two have a word in common."""
        return self.first <= other.last and other.first <= self.last


class Phrases(NamedTuple):
    """A named list of phrases."""

    name: str
    patterns: tuple[Pattern, ...]


class Line:
    """A text as one section sees it: its row of marks, and by list the phrases that it may say.

    ``signs`` are those of the section's classes.
    """

    __slots__ = (
        "_groups",
        "_likely",
        "_row",
        "_signs",
        "_starts",
        "marks",
        "standing",
        "text",
        "words",
    )

    def __init__(
        self,
        words: Words,
        row: Sequence[Mark],
        signs: Mapping[str, str],
        phrases: Shortlist[Phrase],
    ) -> None:
        self.words = words
        self._signs = signs
        self._row = row
        # The signs of each mark, and all in a row.
        self.marks = [mark.signs for mark in self._row]
        self.text = "".join(self.marks)
        self._likely: dict[str, list[Pattern]] = {}
        for name, pattern in phrases.of(set(self.text)):
            self._likely.setdefault(name, []).append(pattern)
        # What stands of each list, once it was looked for.
        self.standing: dict[str, list[Found]] = {}
        self._groups: list[tuple[int, int]] = []
        self._starts: list[int] = []

    @property
    def groups(self) -> list[tuple[int, int]]:
        """First and last word of each mark."""
        if not self._groups:
            firsts = accumulate((mark.length for mark in self._row), initial=0)
            self._groups = [
                (first, first + mark.length - 1)
                for first, mark in zip(firsts, self._row, strict=False)
            ]
        return self._groups

    def may_say(self, name: str) -> bool:
        """Whether the line holds what one of the phrases of a list is made of."""
        return name in self._likely

    def may_say_anything(self) -> bool:
        """Whether the line may say any phrase of its section."""
        return bool(self._likely)

    def likely_lists(self) -> Iterator[str]:
        """The lists of which the line holds what one of their phrases is made of."""
        return iter(self._likely)

    def find(self, phrases: Phrases) -> list[Found]:
        """Every place where one of the phrases is said."""
        return [
            self._found(match, phrase.numbers)
            for phrase in self._likely.get(phrases.name, ())
            for match in phrase.expression.finditer(self.text)
            if match.end() > match.start()
        ]

    def says(self, phrases: Phrases) -> bool:
        """Whether one of the phrases is said at all."""
        return any(
            match.end() > match.start()
            for phrase in self._likely.get(phrases.name, ())
            for match in phrase.expression.finditer(self.text)
        )

    def _found(self, match: re.Match[str], numbers: int) -> Found:
        first, last = self._mark_at(match.start()), self._mark_at(match.end() - 1)
        at = (match.start(group) for group in range(1, numbers + 1))
        held = tuple(self.groups[self._mark_at(a)][0] for a in at if a >= 0)
        end = self.groups[last][0] + self._row[last].reach - 1
        return Found(self.groups[first][0], end, held)

    def _mark_at(self, sign: int) -> int:
        """The mark that holds a sign of the text."""
        if not self._starts:
            self._starts = list(accumulate(map(len, self.marks), initial=0))
        return bisect_right(self._starts, sign) - 1

    def group_of(self, word: int) -> int:
        """The group that holds a word."""
        return bisect_right(self.groups, (word, len(self.words))) - 1

    def is_a(self, group: int, name: str) -> bool:
        """Whether the words of a group are of a class."""
        sign = self._signs.get(name)
        return sign is not None and sign in self.marks[group]

    def names(self, *classes: str) -> bool:
        """Whether words of one of the classes are anywhere in it."""
        return any(sign in self.text for name in classes if (sign := self._signs.get(name)))

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
