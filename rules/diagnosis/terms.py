"""The evidence of one household, and checks made at it, as likelihoods by source."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from rules.diagnosis.answers import changes_with_time
from rules.diagnosis.exact import Floats
from rules.diagnosis.household import Answers
from rules.diagnosis.keys import Feature, Keys, feature
from rules.diagnosis.measuring import chance, homes_touched, speaks_for
from rules.diagnosis.moment import Onset, Timeline
from rules.diagnosis.noticing import (
    merged,
    report_aside,
    report_by_key,
    report_features,
    room_by_key,
    room_features,
)
from rules.diagnosis.space import HomeClass, Space
from rules.model import ApartmentId, Evidence, Found, Reported, RoomRead

__all__ = [
    "Term",
    "by_apartment",
    "found_term",
    "home_terms",
    "reports",
    "set_point",
    "shared_term",
]


@dataclass(frozen=True, eq=False, slots=True)
class Term:
    """What one source says of the states of a home.

    The log likelihood is ``by_key`` of the keys and onset, shape (look keys, own keys), plus what
    only the look and only the own state decide, ``aside``.
    """

    source: str
    features: tuple[Feature, ...]
    by_key: Callable[[Keys, Onset], Floats]
    changes_with_time: bool = True
    aside: Callable[[Onset], tuple[Floats, Floats]] | None = None


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
        terms.append(_room_term(kind, last, last.fact))
    return terms + _answer_terms(answers or Answers.of(space, kind, said))


def found_term(space: Space, kind: HomeClass, source: str, found: Found) -> Term:
    """A check that belongs to one home: its own faults speak first, then the shared ones."""

    def look_up() -> tuple[Floats, Floats]:
        touched = homes_touched(space.plant, found.component)
        logs, healthy = _member_logs(space, found, touched)
        spoken = [speaks_for(c.row, found) for c in kind.local]
        own = [np.log(chance(e, found)) if e else np.nan for e in spoken]
        return _best(logs[kind.members], healthy), np.array([np.nan, *own])

    by_look, by_own = kind.once(("found", found), look_up)

    def by_key(keys: Keys, _: Onset) -> Floats:
        own, look = by_own[keys.own][None, :], by_look[keys.look][:, None]
        return np.where(np.isnan(own), look, own)

    features = (feature(kind, found, lambda: (by_look, by_own)),)
    return Term(source, features, by_key, changes_with_time=False)


def shared_term(space: Space, found: Found, touched: frozenset[ApartmentId]) -> Floats:
    """A check of something that several complaining homes share; (shared states,)."""
    logs, healthy = _member_logs(space, found, touched)
    return _best(logs[space.members], healthy)


def by_apartment(evidence: Iterable[Evidence]) -> Mapping[ApartmentId, list[Evidence]]:
    """What each home said, in the order of time."""
    said: dict[ApartmentId, list[Evidence]] = {}
    for item in sorted(evidence, key=lambda e: (e.at, e.source, repr(e.fact))):
        if not isinstance(item.fact, Found):
            said.setdefault(item.fact.apartment, []).append(item)
    return said


def _report_term(kind: HomeClass, together: Reported, first: Evidence, times: Timeline) -> Term:
    return Term(
        first.source,
        report_features(kind, together),
        lambda keys, onset: report_by_key(kind, keys, together, first.at, onset, times),
        aside=lambda onset: report_aside(kind, together, first.at, onset, times),
    )


def _room_term(kind: HomeClass, item: Evidence, read: RoomRead) -> Term:
    return Term(
        item.source,
        room_features(kind),
        lambda keys, onset: room_by_key(kind, keys, read, onset.hours(item.at)),
    )


def _answer_terms(answers: Answers) -> list[Term]:
    """Each answer with what it adds to those before it."""
    timed = False
    terms: list[Term] = []
    for number, (answered, source, _) in enumerate(answers.given):
        timed = timed or changes_with_time(answered.topic)
        terms.append(
            Term(
                source,
                answers.features(number),
                lambda keys, onset, n=number: answers.log_added(n, keys, onset),  # type: ignore[misc]
                changes_with_time=timed,
            )
        )
    return terms


def _last_room(said: Sequence[Evidence]) -> Evidence | None:
    rooms = [e for e in said if isinstance(e.fact, RoomRead) and e.fact.room_f is not None]
    return rooms[-1] if rooms else None


def _best(of_members: Floats, healthy: float) -> Floats:
    """The likelihood of whichever member speaks for the check best, else a healthy plant's."""
    best = np.fmax(of_members[:, 0], of_members[:, 1])
    return np.where(np.isnan(best), healthy, best)


def _member_logs(
    space: Space, found: Found, touched: frozenset[ApartmentId]
) -> tuple[Floats, float]:
    """Log likelihood if this shared fault speaks for the finding, NaN if not; and if healthy."""
    logs = np.full(len(space.shared) + 1, np.nan)  # the last entry serves member -1
    for n, candidate in enumerate(space.shared):
        expected = speaks_for(candidate.row, found)
        if expected and candidate.homes & touched:
            logs[n] = np.log(chance(expected, found))
    return logs, float(np.log(chance((), found)))
