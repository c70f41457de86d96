"""The evidence of one household, and checks made at it, as likelihoods by source."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from rules.diagnosis.exact import Floats
from rules.diagnosis.household import Answers
from rules.diagnosis.keys import Feature, Keys, feature
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.measuring import chance, concerned_by, speaks_for
from rules.diagnosis.moment import Timeline
from rules.diagnosis.noticing import (
    merged,
    report_aside,
    report_by_key,
    report_features,
    room_by_key,
    room_features,
)
from rules.diagnosis.space import Space
from rules.model import ApartmentId, Evidence, Found, Reported, RoomRead

__all__ = [
    "Said",
    "Term",
    "by_apartment",
    "found_term",
    "home_terms",
    "reports",
    "set_point",
    "shared_term",
]


def _nothing() -> Floats:
    return np.zeros((1, 1))


@dataclass(frozen=True, eq=False, slots=True)
class Said:
    """Log likelihood of one source, the sum of three parts; a length of 1 stands for any."""

    by_key: Floats  # (onsets, look keys, own keys)
    by_look: Floats = field(default_factory=_nothing)  # (onsets, looks)
    by_own: Floats = field(default_factory=_nothing)  # (onsets, own states)

    def __add__(self, other: Said) -> Said:
        """Both together."""
        return Said(
            self.by_key + other.by_key, self.by_look + other.by_look, self.by_own + other.by_own
        )


@dataclass(frozen=True, eq=False, slots=True)
class Term:
    """Something that a home told: what its likelihood depends on, and the weight of each source."""

    features: tuple[Feature, ...]
    weigh: Callable[[Keys], Iterable[tuple[str, Said]]]


def reports(said: Iterable[Evidence]) -> list[Reported]:
    """The reports among some evidence."""
    return [e.fact for e in said if isinstance(e.fact, Reported)]


def set_point(said: Iterable[Evidence]) -> float | None:
    """What the people of a home find comfortable, as far as they told it."""
    told = [e.fact.set_f for e in said if isinstance(e.fact, RoomRead) and e.fact.set_f is not None]
    # A thermostat turned up in despair says little about what people find comfortable.
    return None if not told else min(max(told[-1], 62.0), 76.0)


def home_terms(
    space: Space,
    kind: HomeClass,
    said: Sequence[Evidence],
    times: Timeline,
    answers: Answers | None = None,
) -> list[Term]:
    """All that one household said; ``answers`` are those among it, if they are known already."""
    terms: list[Term] = []
    first = next((e for e in said if isinstance(e.fact, Reported)), None)
    together = merged(reports(said))
    if first is not None and together is not None:
        terms.append(_report_term(kind, together, first, times))
    last = _last_room(said)
    if last is not None and isinstance(last.fact, RoomRead):
        terms.append(_room_term(kind, last, last.fact, times))
    answers = answers or Answers.of(space, kind, said)
    if answers.given:
        terms.append(_answers_term(answers, times))
    return terms


def found_term(space: Space, kind: HomeClass, source: str, found: Found) -> Term:
    """A check that belongs to one home: its own faults speak first, then the shared ones."""

    def look_up() -> tuple[Floats, Floats]:
        logs, healthy = _member_logs(space, found)
        spoken = [speaks_for(c.row, found) for c in kind.local]
        own = [np.log(chance(e, found)) if e else np.nan for e in spoken]
        return _best(logs[kind.members], healthy), np.array([np.nan, *own])

    by_look, by_own = kind.once(("found", found), look_up)

    def weigh(keys: Keys) -> list[tuple[str, Said]]:
        own, look = by_own[keys.own][None, :], by_look[keys.look][:, None]
        return [(source, Said(np.where(np.isnan(own), look, own)[None]))]

    return Term((feature(kind, found, lambda: (by_look, by_own)),), weigh)


def shared_term(space: Space, found: Found) -> Floats:
    """A check of something that several complaining homes share; (shared states,)."""
    logs, healthy = _member_logs(space, found)
    return _best(logs[space.members], healthy)


def by_apartment(evidence: Iterable[Evidence]) -> Mapping[ApartmentId, list[Evidence]]:
    """What each home said, in the order of time."""
    said: dict[ApartmentId, list[Evidence]] = {}
    for item in sorted(evidence, key=lambda e: (e.at, e.source, repr(e.fact))):
        if not isinstance(item.fact, Found):
            said.setdefault(item.fact.apartment, []).append(item)
    return said


def _report_term(kind: HomeClass, together: Reported, first: Evidence, times: Timeline) -> Term:
    def weigh(keys: Keys) -> list[tuple[str, Said]]:
        by_key = report_by_key(kind, keys, together, first.at, times)
        return [(first.source, Said(by_key, *report_aside(kind, together, first.at, times)))]

    return Term(report_features(kind, together), weigh)


def _room_term(kind: HomeClass, item: Evidence, read: RoomRead, times: Timeline) -> Term:
    def weigh(keys: Keys) -> list[tuple[str, Said]]:
        return [(item.source, Said(room_by_key(kind, keys, read, times.hours(item.at))))]

    return Term(room_features(kind), weigh)


def _answers_term(answers: Answers, times: Timeline) -> Term:
    """Each answer with what it adds to those before it."""
    return Term(
        answers.features,
        lambda keys: [(source, Said(logs)) for source, logs in answers.log_added(keys, times)],
    )


def _last_room(said: Sequence[Evidence]) -> Evidence | None:
    rooms = [e for e in said if isinstance(e.fact, RoomRead) and e.fact.room_f is not None]
    return rooms[-1] if rooms else None


def _best(of_members: Floats, healthy: float) -> Floats:
    """The likelihood of whichever member speaks for the check best, else a healthy plant's."""
    best = np.fmax(of_members[:, 0], of_members[:, 1])
    return np.where(np.isnan(best), healthy, best)


def _member_logs(space: Space, found: Found) -> tuple[Floats, float]:
    """Log likelihood if this shared fault speaks for the finding, NaN if not; and if healthy."""
    logs = np.full(len(space.shared) + 1, np.nan)  # the last entry serves member -1
    concerned = concerned_by(space.plant, found.component)
    for n, candidate in enumerate(space.shared):
        expected = speaks_for(candidate.row, found)
        if expected and concerned(candidate.component, candidate.homes):
            logs[n] = np.log(chance(expected, found))
    return logs, float(np.log(chance((), found)))
