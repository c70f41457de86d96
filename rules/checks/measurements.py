"""Which measurements could be made for some suspects, and what each would read under every one.

Theory of operation
-------------------
At a part of several homes what is to be read without a call is read only when none of them calls, and
on a cold night one always does: somebody sees to it first. Where such readings would tell something
the check can be made in two ways, with a call alone or in quiet as well; which is worth more a minute is
for whoever puts checks in order.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from rules.checks.kinds import is_asked_for, kinds_told
from rules.checks.places import component_for, is_made, row_of
from rules.checks.readings import HEALTHY, reading_of
from rules.checks.telling import chances_with_else
from rules.diagnosis import Diagnosis, Suspect
from rules.diagnosis.exact import Floats
from rules.diagnosis.measuring import concerned_by, homes_touched, is_healthy
from rules.faults.catalogue import checks
from rules.faults.rows import Check, CheckReading, Fault
from rules.model import ApartmentId, CheckId, ComponentId
from rules.plant import Plant

__all__ = ["Measurement", "measurements"]


@dataclass(frozen=True)
class Measurement:
    """A check at one component, and what it would read there under each suspect, and else."""

    check: Check
    component: ComponentId
    readings: tuple[str, ...]
    expected: tuple[tuple[CheckReading, ...], ...]  # by suspect
    weights: tuple[float, ...]  # of the suspects
    in_quiet: bool = False  # part of it is read while none of several homes calls

    @cached_property
    def chances(self) -> Floats:
        """Chance of each reading under each suspect, and under something else."""
        return chances_with_else(self.check.id, self.expected, self.weights)

    @property
    def key(self) -> tuple[str, str]:
        """Its name among others."""
        return str(self.check.id), str(self.component)


@dataclass(frozen=True, eq=False, slots=True)
class _Suspected:
    """A suspect with what its row says, check by check."""

    suspect: Suspect
    row: Fault
    says: dict[CheckId, tuple[CheckReading, ...]]
    in_words: dict[CheckId, str]

    @staticmethod
    def of(plant: Plant, suspect: Suspect) -> _Suspected:
        row = row_of(plant, suspect)
        says: dict[CheckId, tuple[CheckReading, ...]] = {}
        for reading in row.checks:
            says[reading.check] = (*says.get(reading.check, ()), reading)
        in_words = {check: reading_of(checks()[check], row) for check in says}
        return _Suspected(suspect, row, says, in_words)

    @property
    def worth_making(self) -> list[CheckId]:
        """The checks that would show it, and not only that it leaves nothing to read."""
        return [
            check
            for check, words in self.in_words.items()
            if words != HEALTHY and not all(reading.lacking for reading in self.says[check])
        ]

    def is_about(self, check: CheckId, component: ComponentId) -> bool:
        """Whether what it says of a check holds at a component, and not where it stands alone."""
        at_own = any(reading.at_own for reading in self.says.get(check, ()))
        return self.suspect.component == component or not at_own


def measurements(
    diagnosis: Diagnosis, apartments: Sequence[ApartmentId], suspects: Sequence[Suspect]
) -> Iterator[Measurement]:
    """Every check that some suspect does not leave healthy, where it would be made, once a place."""
    plant = diagnosis.plant
    suspected = [_Suspected.of(plant, suspect) for suspect in suspects]
    seen: set[tuple[CheckId, ComponentId]] = set()
    kinds = kinds_told(diagnosis, apartments)
    for one in suspected:
        for check in (checks()[name] for name in one.worth_making):
            if not is_asked_for(check, kinds):
                continue
            component = component_for(plant, check, one.suspect, apartments)
            if component is None or (check.id, component) in seen:
                continue
            seen.add((check.id, component))
            if not is_made(plant, check, component, diagnosis.findings):
                yield from _made(plant, suspected, check, component)


def _made(
    plant: Plant, suspected: Sequence[_Suspected], check: Check, component: ComponentId
) -> Iterator[Measurement]:
    concerned = concerned_by(plant, component)
    speaking = [
        s.says.get(check.id, ())
        if s.is_about(check.id, component) and concerned(s.suspect.component, s.suspect.reaches)
        else ()
        for s in suspected
    ]
    words = [
        s.in_words[check.id] if expects else HEALTHY
        for s, expects in zip(suspected, speaking, strict=True)
    ]
    readings, expected = (*words, HEALTHY), tuple(speaking)
    weights = tuple(s.suspect.probability for s in suspected)
    if len(homes_touched(plant, component)) < 2 or not _tell_in_quiet(check, expected):
        yield Measurement(check, component, readings, expected, weights)
        return
    called = tuple(_with_a_call(rows) for rows in expected)
    yield Measurement(check, component, readings, called, weights)
    yield Measurement(check, component, readings, expected, weights, in_quiet=True)


def _tell_in_quiet(check: Check, expected: Iterable[Sequence[CheckReading]]) -> bool:
    return any(r.calling is False and not is_healthy(r, check) for rows in expected for r in rows)


def _with_a_call(rows: Sequence[CheckReading]) -> tuple[CheckReading, ...]:
    """What is expected while somebody calls."""
    return tuple(r.model_copy(update={"calling": True}) for r in rows if r.calling is not False)
