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
from functools import cache, cached_property
from itertools import accumulate
from typing import Any

from rules.data import table
from rules.reading.marks import Mark, Marks
from rules.reading.notation import (
    FIRST_SIGN,
    STRONG,
    WEAK,
    Gaps,
    Pattern,
    compiled,
)
from rules.reading.vocabulary import vocabulary
from rules.reading.words import Sort, Word

__all__ = ["Found", "Line", "Section", "section"]


# Not frozen: there are many in a text, and a frozen one takes three times as long to make.
@dataclass(slots=True)
class Found:
    """A phrase found: its first and last word, and the numbers in it, as indices of words."""

    first: int
    last: int
    numbers: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Phrases:
    """A named list of phrases."""

    name: str
    patterns: tuple[Pattern, ...]


class Line:
    """A text as one section sees it."""

    def __init__(self, words: Sequence[Word], seen: Section) -> None:
        self.words = words
        self._seen = seen
        # Most texts hold no word without which a small section has nothing to say of them.
        self._likely = seen.likely(self.text) if seen.may_speak_of(words) else {}
        # What stands of each list, once it was looked for.
        self.standing: dict[str, list[Found]] = {}

    @cached_property
    def _row(self) -> list[Mark]:
        return self._seen.marks.row(self.words)

    @cached_property
    def marks(self) -> list[str]:
        """The signs of each mark."""
        return [mark.signs for mark in self._row]

    @cached_property
    def text(self) -> str:
        """The signs in a row."""
        return "".join(self.marks)

    @cached_property
    def groups(self) -> list[tuple[int, int]]:
        """First and last word of each mark."""
        firsts = accumulate((mark.length for mark in self._row[:-1]), initial=0)
        return [
            (first, first + mark.length - 1) for first, mark in zip(firsts, self._row, strict=False)
        ]

    @cached_property
    def _starts(self) -> list[int]:
        """Where in the text of signs each mark begins."""
        return list(accumulate((len(signs) for signs in self.marks[:-1]), initial=0))

    def may_say(self, name: str) -> bool:
        """Whether the line holds what one of the phrases of a list is made of."""
        return name in self._likely

    def may_say_anything(self) -> bool:
        """Whether the line may say any phrase of its section."""
        return bool(self._likely)

    def likely_lists(self) -> Iterator[str]:
        """The lists of which the line holds what one of their phrases is made of."""
        return iter(self._likely)

    def find(self, phrases: Phrases) -> Iterator[Found]:
        """Every place where one of the phrases is said."""
        for order in sorted(self._likely.get(phrases.name, ())):
            phrase = phrases.patterns[order]
            for match in phrase.expression.finditer(self.text):
                if match.end() > match.start():
                    yield self._found(match, phrase.numbers)

    def says(self, phrases: Phrases) -> bool:
        """Whether one of the phrases is said at all."""
        return any(
            match.end() > match.start()
            for order in self._likely.get(phrases.name, ())
            for match in phrases.patterns[order].expression.finditer(self.text)
        )

    def _found(self, match: re.Match[str], numbers: int) -> Found:
        first = bisect_right(self._starts, match.start()) - 1
        last = bisect_right(self._starts, match.end() - 1) - 1
        at = (match.start(group) for group in range(1, numbers + 1))
        held = tuple(self.groups[bisect_right(self._starts, a) - 1][0] for a in at if a >= 0)
        end = self.groups[last][0] + self._row[last].reach - 1
        return Found(self.groups[first][0], end, held)

    def group_of(self, word: int) -> int:
        """The group that holds a word."""
        return bisect_right(self.groups, (word, len(self.words))) - 1

    def is_a(self, group: int, name: str) -> bool:
        """Whether the words of a group are of a class."""
        sign = self._seen.signs.get(name)
        return sign is not None and sign in self.marks[group]

    def names(self, *classes: str) -> bool:
        """Whether words of one of the classes are anywhere in it."""
        return any(sign in self.text for name in classes if (sign := self._seen.signs.get(name)))

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
        # A bit for each part of which a phrase needs one sign.
        bits: dict[frozenset[str], int] = {}
        self._by_sign = self._needing(bits)
        self._others, self._all_parts = self._without(bits), sum(bits.values())
        see_through = frozenset(table("phrases")["see_through"]).difference(raw.get("hides", ()))
        self.marks = Marks(self.signs, self._literals, see_through)
        self._needed_words = self._words_of(frozenset(self._by_sign))
        of_numbers = (self.signs.get(name) for name in ("NUM", "COUNT"))
        self._needs_numbers = not self._by_sign.keys().isdisjoint(of_numbers)

    def __getitem__(self, name: str) -> Phrases:
        return self.lists[name]

    def _needing(self, bits: dict[frozenset[str], int]) -> dict[str, list[tuple[str, int, int]]]:
        """By sign, the phrases that cannot be said without it or one of a few others.

        The name of its list, its place there, and the bits of its other parts, which are noted.
        """
        found: dict[str, list[tuple[str, int, int]]] = defaultdict(list)
        for name, listed in self.lists.items():
            for order, pattern in enumerate(listed.patterns):
                parts = sum(bits.setdefault(part, 1 << len(bits)) for part in pattern.others)
                for sign in pattern.rarest:
                    found[sign].append((name, order, parts))
        return dict(found)

    def _without(self, bits: dict[frozenset[str], int]) -> dict[str, int]:
        """By sign, the bits of all parts that may be said without it."""
        signs = frozenset(sign for part in bits for sign in part)
        return {sign: sum(b for part, b in bits.items() if sign not in part) for sign in signs}

    def _words_of(self, signs: frozenset[str]) -> frozenset[str] | None:
        """The words of which a text must hold one to have one of the signs; None where any may do."""
        return None if "" in signs else self.marks.first_words_of(signs)

    def may_speak_of(self, words: Sequence[Word]) -> bool:
        """Whether the words hold one without which no phrase of the section can be said."""
        needed = self._needed_words
        if needed is None or not needed.isdisjoint([word.text for word in words]):
            return True
        return self._needs_numbers and any(
            word.value is not None or word.sort is Sort.NUMBER for word in words
        )

    def likely(self, text: str) -> dict[str, set[int]]:
        """By list, the phrases that a line may say, judging by the signs that each needs."""
        found: dict[str, set[int]] = {}
        signs = {"", *text}
        missing = self._all_parts
        for sign in signs & self._others.keys():
            missing &= self._others[sign]
        for sign in signs & self._by_sign.keys():
            for name, order, parts in self._by_sign[sign]:
                if not parts & missing:
                    found.setdefault(name, set()).add(order)
        return found

    def standing(self, line: Line, name: str) -> list[Found]:
        """Where a list is said, in order, less what its ``_not`` list takes back."""
        if not line.may_say(name):
            return []
        if name not in line.standing:
            line.standing[name] = self._standing(line, name)
        return line.standing[name]

    def _standing(self, line: Line, name: str) -> list[Found]:
        found = list(line.find(self.lists[name]))
        if not found:
            return []
        found.sort(key=lambda f: (f.first, f.last))
        if not line.may_say(f"{name}_not"):
            return found
        back = list(line.find(self.lists[f"{name}_not"]))
        return [f for f in found if not any(b.first <= f.last and f.first <= b.last for b in back)]

    def stands(self, line: Line, name: str) -> bool:
        """Whether a list is said anywhere where its ``_not`` list does not take it back."""
        if not line.may_say(name):
            return False
        if line.may_say(f"{name}_not"):
            return bool(self.standing(line, name))
        return line.says(self.lists[name])

    def line(self, words: Sequence[Word]) -> Line:
        """The text as this section sees it."""
        return Line(words, self)

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
