"""Phrases written in word classes, and where a text says them.

Theory of operation
-------------------
``phrases.yaml`` holds phrases such as ``HEAT .3 NEG LIGHT* WORK``; ``notation`` says how to write them.
A text is turned into a line of characters (``line``), one for each class or word that a section
mentions, so that a phrase is an ordinary regular expression over that line. A section sees only the
words its own phrases mention: a longer phrase of another section never hides a word from it. Within a
section the longest phrase counts ("cold water" is not cold), save those of the classes under
``see_through``. Phrases of which a line does not hold every part are not looked for (``shortlist``).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from rules.data import table
from rules.reading.lexicon import Lexicon
from rules.reading.line import Found, Line, Phrases
from rules.reading.marks import Mark, Marks
from rules.reading.notation import FIRST_SIGN, Gaps, compiled
from rules.reading.shortlist import Shortlist
from rules.reading.vocabulary import vocabulary
from rules.reading.words import Words

__all__ = ["CLASSES", "Section", "section"]

CLASSES = "classes"
# Light words stand between all others and tell nothing.
_UNTOLD = "LIGHT"


class Section:
    """One part of ``phrases.yaml``: named lists of phrases and the classes they are made of."""

    def __init__(self, name: str, raw: dict[str, Any]) -> None:
        self.name = name
        self.signs: dict[str, str] = {}
        self._literals: dict[str, str] = {}
        gaps = Gaps(raw.get("no_gap_over", ["NEG"]), raw.get("things", ()), raw.get("places", ""))
        for read in (*raw.get("reads", ()), *gaps.solid, *gaps.things):
            self._sign(read)
        self.lists = {
            listed: Phrases(listed, tuple(compiled(text, self._sign, gaps) for text in texts))
            for listed, texts in raw["phrases"].items()
        }
        self._phrases = Shortlist(
            ((phrases.name, pattern), pattern.needs)
            for phrases in self.lists.values()
            for pattern in phrases.patterns
        )
        see_through = frozenset(table("phrases")["see_through"]).difference(raw.get("hides", ()))
        self.marks = Marks(self.signs, self._literals, see_through)

    def __getitem__(self, name: str) -> Phrases:
        return self.lists[name]

    def line(self, words: Words) -> Line:
        """The text as this section sees it."""
        return Line(words, self.row(words), self.signs, self._phrases)

    def row(self, words: Words) -> Sequence[Mark]:
        """The row of longest phrases that the words make."""
        return _lexicon().row(self.name, words)

    def standing(self, line: Line, name: str) -> list[Found]:
        """Where a list is said, in order, less what its ``_not`` list takes back."""
        if not line.may_say(name):
            return []
        if name not in line.standing:
            line.standing[name] = self._standing(line, name)
        return line.standing[name]

    def _standing(self, line: Line, name: str) -> list[Found]:
        found = line.find(self.lists[name])
        if not found:
            return []
        found.sort(key=lambda f: (f.first, f.last))
        if not line.may_say(f"{name}_not"):
            return found
        back = line.find(self.lists[f"{name}_not"])
        return [f for f in found if not any(map(f.meets, back))]

    def stands(self, line: Line, name: str) -> bool:
        """Whether a list is said anywhere where its ``_not`` list does not take it back."""
        if not line.may_say(name):
            return False
        if line.may_say(f"{name}_not"):
            return bool(self.standing(line, name))
        return line.says(self.lists[name])

    def _sign(self, name: str) -> str:
        known = self.signs if name.isupper() else self._literals
        if name.isupper() and name not in vocabulary().classes and name not in ("NUM", "COUNT"):
            raise KeyError(f"no words for class {name}")
        if name not in known:
            known[name] = chr(FIRST_SIGN + len(self.signs) + len(self._literals))
        return known[name]


def section(name: str) -> Section:
    """A section of ``phrases.yaml``, or the one of all ``CLASSES``, which has no phrases."""
    return _sections()[name]


@cache
def _sections() -> Mapping[str, Section]:
    """All sections, compiled once per process."""
    raw = {name: part for name, part in table("phrases").items() if "phrases" in part}
    raw[CLASSES] = {"reads": sorted(vocabulary().classes.keys() - {_UNTOLD}), "phrases": {}}
    return {name: Section(name, part) for name, part in raw.items()}


@cache
def _lexicon() -> Lexicon:
    return Lexicon({name: section.marks for name, section in _sections().items()})
