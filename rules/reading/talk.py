"""What a tenant wants with a text.

Theory of operation
-------------------
``intents.yaml`` is a list of decisions, and the first that holds is taken. A decision looks at what
is said of the talk itself (section ``talk`` of ``phrases.yaml``), at the kinds of trouble told,
at a few facts, and at the length. Each list of phrases that a text may say is looked for once.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from rules.data import table
from rules.model import Intent, Kind
from rules.reading.folding import fold
from rules.reading.line import Line
from rules.reading.phrases import Section, section
from rules.reading.vocabulary import vocabulary
from rules.reading.words import Sort, Words

__all__ = ["Talk", "language_wish"]

# Words a scrap of an answer is made of, and those of them that say something.
_NAMING = ("ROOM", "ALLROOMS", "TIMEUNIT", "PASTTIME", "WEEKDAY", "LUKE")
_SCRAP = (*_NAMING, "SCRAP", "WHOLE", "GOODW", "ATNOW", "NUM", "COUNT")
_QUESTION_MARKS = frozenset("?¿")
_SPOKEN = (Sort.WORD, Sort.NUMBER)


def language_wish(words: Words) -> str | None:
    """The language somebody asks to be written to in."""
    seen = section("wishes")
    line = seen.line(words)
    return next((name for name in ("es", "en") if line.says(seen[name])), None)


@dataclass(frozen=True, slots=True)
class _Decision:
    """A row of ``intents.yaml``, which says what its parts mean."""

    intent: Intent
    only: str
    says: frozenset[str]
    also: frozenset[str]
    without: frozenset[str]
    facts: tuple[str, ...]
    no_facts: tuple[str, ...]
    kinds: str
    longest: int | None

    @classmethod
    def of(cls, row: Mapping[str, Any]) -> _Decision:
        """A decision from its row."""
        return cls(
            intent=Intent(row["intent"]),
            only=row.get("only", ""),
            says=frozenset(row.get("says", ())),
            also=frozenset(row.get("also", ())),
            without=frozenset(row.get("without", ())),
            facts=tuple(row.get("is", ())),
            no_facts=tuple(row.get("isnt", ())),
            kinds=row.get("kinds", "any"),
            longest=row.get("longest"),
        )


class Talk:
    """What a text says of the talk itself; made once for a text. ``said`` are the lists it says."""

    def __init__(self, words: Words) -> None:
        self._seen: Section = section("talk")
        self._line: Line = self._seen.line(words)
        self._spoken = [word.text for word in words if word.sort in _SPOKEN]
        self._whole = " ".join(self._spoken)
        self._has_question_mark = not _QUESTION_MARKS.isdisjoint(words.texts)
        self.said = frozenset(
            name for name in self._line.likely_lists() if self._seen.stands(self._line, name)
        )

    def is_mended(self) -> bool:
        """Whether it says that something works again or has stopped."""
        return "resolved" in self.said

    def asks_when(self) -> bool:
        """Whether it plainly asks when somebody comes."""
        coming = self._has_question_mark and "coming" in self.said
        return coming or not self.said.isdisjoint(("status", "status_firm"))

    def is_keyword(self) -> bool:
        """Whether the whole text is one word that texting services act on: STOP, START, HELP."""
        return self._whole in _all_keywords()

    def never(self, intent: Intent) -> set[Intent]:
        """What a text cannot want whose intent by rules is this one.

        What sounds like opting out may be something else ("bus stop", "stop sending people"); a
        complaint of what persists is not over and asks nothing ("he looked at it, same problem again").
        """
        persists = intent is Intent.COMPLAINT and "persists" in self.said
        return {
            one
            for one, holds in (
                (Intent.STOP, self._line.says(self._seen["stop_not"])),
                (Intent.RESOLVED, persists),
                (Intent.STATUS_QUESTION, persists),
            )
            if holds
        }

    def intent(
        self, kinds: Collection[Kind], *, firm: Collection[Kind], facts: Collection[str]
    ) -> Intent:
        """The one intent of the text.

        ``firm`` are the kinds told in words and not only by how a radiator feels or a number, ``facts``
        those of ``intents.yaml`` that the rest of the reader knows.
        """
        known: dict[str, Callable[[], bool]] = {
            "question": lambda: self._has_question_mark,
            "asking": lambda: "asks" in self.said or self._has_question_mark,
            "of_home": lambda: "states" in facts or "equipment" in self.said,
            "scrap": self._is_scrap,
            "strange": lambda: not any(word in vocabulary().known for word in self._spoken),
        }

        def is_so(fact: str) -> bool:
            return known[fact]() if fact in known else fact in facts

        amount = _amounts(frozenset(kinds), frozenset(firm))
        return next(
            decision.intent
            for decision in _decisions()
            if self._is_said(decision)
            and decision.kinds in amount
            and all(map(is_so, decision.facts))
            and not any(map(is_so, decision.no_facts))
        )

    def _is_said(self, decision: _Decision) -> bool:
        said = self.said
        if decision.says and said.isdisjoint(decision.says):
            return False
        if decision.longest is not None and len(self._spoken) > decision.longest:
            return False
        if decision.only and self._whole not in _keywords(decision.only):
            return False
        also = not decision.also or not said.isdisjoint(decision.also)
        return also and said.isdisjoint(decision.without)

    def _is_scrap(self) -> bool:
        """Whether all words only name a room, a time or a number: "en todos los cuartos"."""
        line = self._line
        spoken = (g for g in range(len(line.marks)) if not line.is_break(g))
        return line.names(*_NAMING) and all(
            any(line.is_a(g, name) for name in _SCRAP) for g in spoken
        )


def _amounts(kinds: frozenset[Kind], firm: frozenset[Kind]) -> set[str]:
    """The words of ``intents.yaml`` for how much is wrong that are true."""
    holding = {
        "any": True,
        "none": not kinds,
        "some": bool(kinds),
        "other": kinds <= {Kind.OTHER},
        "noise": kinds == {Kind.NOISE},
        "not_firm": not firm,
    }
    return {name for name, holds in holding.items() if holds}


@cache
def _decisions() -> tuple[_Decision, ...]:
    return tuple(map(_Decision.of, table("intents")["decisions"]))


@cache
def _all_keywords() -> frozenset[str]:
    return frozenset().union(*map(_keywords, table("phrases")["keywords"]))


@cache
def _keywords(name: str) -> frozenset[str]:
    forms = re.split(r",\s+", table("phrases")["keywords"][name])
    return frozenset(" ".join(m.group() for m in fold(form).pieces) for form in forms)
