"""Typed access to the table of questions: what a tenant may be asked, and after what wait."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from rules.data import table
from rules.model import Kind, TopicId

__all__ = [
    "HEAT_MOTOR_MINUTES",
    "NOT_SURE",
    "UNKNOWN",
    "Choice",
    "Question",
    "Wording",
    "at_thermostat",
    "question",
    "questions",
]

NOT_SURE = "0"  # what a tenant sends for "not sure", at every question
UNKNOWN = "unknown"  # what that means
HEAT_MOTOR_MINUTES = 5.0  # a heated-wax actuator needs so much longer to move; common practice

_SLOW_TO_THE_HAND = frozenset({"cast_iron"})


@dataclass(frozen=True, slots=True)
class Wording:
    """One sentence in both languages."""

    en: str
    es: str

    def in_language(self, language: str) -> str:
        """The sentence in Spanish for "es", in English for anything else."""
        return self.es if language == "es" else self.en


@dataclass(frozen=True, slots=True)
class Choice:
    """One numbered answer: what it means to the diagnosis, and how it is offered.

    The words that mean the same are the reader's (``rules.reading.choices``), from the same table.
    """

    means: str
    label: Wording


@dataclass(frozen=True, slots=True)
class Question:
    """One topic; see ``rules/data/questions.yaml`` for the meaning of each field."""

    id: TopicId
    asks: Wording
    again: Wording
    pipe: Wording | None
    no_thermostat: Wording | None
    no_thermostat_again: Wording | None
    told: Wording | None
    looked: Wording | None  # where a technician has looked, and there was nothing to do
    at_thermostat: bool
    choices: tuple[Choice, ...]
    about: frozenset[Kind]
    told_with: frozenset[Kind]  # with these kinds an unasked word on the topic counts
    wait_by_emitter: Mapping[str, float | None] | None
    number: bool

    @property
    def is_check(self) -> bool:
        """Whether the tenant does something first and answers after a wait."""
        return self.wait_by_emitter is not None

    def wait_minutes(self, emitter: str | None, *, heat_motor: bool = False) -> float | None:
        """How long to wait between doing and asking; None where the check is useless.

        An emitter that is not known gets the longest wait of those where the check works, so that a
        slow one is not called stuck.
        """
        if self.wait_by_emitter is None:
            return 0.0
        longest = max(w for w in self.wait_by_emitter.values() if w is not None)
        wait = self.wait_by_emitter.get(emitter or "", longest)
        if wait is None:
            return None
        return wait + (HEAT_MOTOR_MINUTES if heat_motor else 0.0)

    def can_be_asked(self, emitter: str | None) -> bool:
        """Whether an answer would mean something with this emitter."""
        return self.wait_minutes(emitter) is not None

    def asks_about_pipe(self, emitter: str | None) -> bool:
        """Whether to ask for the pipe, because iron stays hot for hours."""
        return self.pipe is not None and emitter in _SLOW_TO_THE_HAND

    def sentence(
        self,
        emitter: str | None,
        *,
        thermostat: bool = True,
        told: bool = False,
        again: bool = False,
    ) -> Wording:
        """The question, at first or again, in words that fit the emitter and the thermostat.

        ``told`` is whether the household has said already that something is wrong.
        """
        if self.no_thermostat is not None and not thermostat:
            return (again and self.no_thermostat_again) or self.no_thermostat
        if again:
            return self.again
        if self.told is not None and told:
            return self.told
        if self.pipe is not None and self.asks_about_pipe(emitter):
            return self.pipe
        return self.asks


def _question(row: dict[str, Any]) -> Question:
    waits = row.get("wait_minutes")
    return Question(
        id=TopicId(row["id"]),
        asks=Wording(row["en"], row["es"]),
        again=Wording(row["again_en"], row["again_es"]),
        pipe=_other_wording(row, "pipe"),
        no_thermostat=_other_wording(row, "no_thermostat"),
        no_thermostat_again=_other_wording(row, "no_thermostat", "again_"),
        told=_other_wording(row, "told"),
        looked=_other_wording(row, "looked"),
        at_thermostat=row.get("at_thermostat", False),
        choices=tuple(Choice(c["means"], Wording(c["en"], c["es"])) for c in row["choices"]),
        about=frozenset(Kind(kind) for kind in row["about"]),
        told_with=frozenset(Kind(kind) for kind in row.get("told_with", row["about"])),
        wait_by_emitter=MappingProxyType(dict(waits)) if waits else None,
        number="number" in row,
    )


def _other_wording(row: dict[str, Any], name: str, which: str = "") -> Wording | None:
    other = row.get(name)
    return Wording(other[f"{which}en"], other[f"{which}es"]) if other else None


@cache
def questions() -> Mapping[TopicId, Question]:
    """All questions by topic, in the order of the table."""
    return MappingProxyType({q.id: q for q in map(_question, table("questions"))})


@cache
def at_thermostat() -> frozenset[TopicId]:
    """What nobody can answer or do whose home has no thermostat."""
    return frozenset(q.id for q in questions().values() if q.at_thermostat)


def question(topic: str) -> Question:
    """The question of one topic; KeyError if there is none."""
    return questions()[TopicId(topic)]
