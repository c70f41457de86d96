"""The evidence of one household, and checks made at it, as likelihoods by source."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from rules.diagnosis.exact import Floats
from rules.diagnosis.household import Answers
from rules.diagnosis.keys import collapse, feature
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.measuring import chance, concerned_by, speaks_for
from rules.diagnosis.moment import Timeline
from rules.diagnosis.noticing import merged, report_said, room_said
from rules.diagnosis.said import Said
from rules.diagnosis.setting import set_said
from rules.diagnosis.space import Space
from rules.diagnosis.tanks import NOTHING_TOLD, Tank
from rules.diagnosis.visited import visits_said
from rules.model import ApartmentId, Evidence, Fact, Found, Reported, RoomRead

__all__ = [
    "by_apartment",
    "found_term",
    "home_terms",
    "reports",
    "shared_term",
]


def reports(said: Iterable[Evidence]) -> list[Reported]:
    """The reports among some evidence."""
    return [e.fact for e in said if isinstance(e.fact, Reported)]


def home_terms(
    space: Space,
    kind: HomeClass,
    said: Sequence[Evidence],
    times: Timeline,
    answers: Answers | None = None,
    tank: Tank = NOTHING_TOLD,
) -> list[tuple[str, Said]]:
    """All that one household said, by source; ``answers`` are those among it, if known already.

    ``tank`` is what the homes of its tank told of their taps.
    """
    found: list[tuple[str, Said]] = []
    first = next((e for e in said if isinstance(e.fact, Reported)), None)
    together = merged(reports(said))
    if first is not None and together is not None:
        empty = tank.empty(times, first.at, first.source)
        report = report_said(kind, together, first.at, times, empty)
        found.append((first.source, report))
    last = _last_room(said)
    if last is not None and isinstance(last.fact, RoomRead):
        found.append((last.source, room_said(kind, last.fact, times.hours(last.at))))
    if setting := _last_setting(said):
        source, set_f = setting
        if (term := set_said(kind, together, set_f)) is not None:
            found.append((source, term))
    answers = answers or Answers.of(space, kind, said, tank)
    return [*found, *visits_said(kind, said), *answers.added(times)]


def found_term(space: Space, kind: HomeClass, source: str, found: Found) -> tuple[str, Said]:
    """A check that belongs to one home: its own faults speak first, then the shared ones."""

    def look_up() -> Said:
        logs, healthy = _member_logs(space, found)
        spoken = [speaks_for(c.row, found, c.component) for c in kind.local]
        own = np.array([np.nan, *(np.log(chance(e, found)) if e else np.nan for e in spoken)])
        look = _best(logs[kind.members], healthy)
        keys = collapse(kind, [feature(kind, found, lambda: (look, own))])
        by_own, by_look = own[keys.own][None, :], look[keys.look][:, None]
        return Said.from_logs(keys, np.where(np.isnan(by_own), by_look, by_own)[None])

    return source, kind.once(("found", found), look_up)


def shared_term(space: Space, found: Found) -> tuple[Floats, tuple[int, ...]]:
    """A check of something that several complaining homes share; (shared states,).

    And the candidates that speak for it.
    """
    logs, healthy = _member_logs(space, found)
    return _best(logs[space.members], healthy), tuple(np.flatnonzero(~np.isnan(logs)).tolist())


def by_apartment(evidence: Iterable[Evidence]) -> Mapping[ApartmentId, list[Evidence]]:
    """What each home said, in the order of time."""
    said: dict[ApartmentId, list[Evidence]] = {}
    for item in sorted(evidence, key=lambda e: (e.at, e.source, _Written(e.fact))):
        if not isinstance(item.fact, Found):
            said.setdefault(item.fact.apartment, []).append(item)
    return said


class _Written:
    """A fact's place among others of one message; written out only where two are compared."""

    __slots__ = ("fact",)

    def __init__(self, fact: Fact) -> None:
        self.fact = fact

    def __lt__(self, other: _Written) -> bool:
        return repr(self.fact) < repr(other.fact)


def _last_room(said: Sequence[Evidence]) -> Evidence | None:
    rooms = [e for e in said if isinstance(e.fact, RoomRead) and e.fact.room_f is not None]
    return rooms[-1] if rooms else None


def _last_setting(said: Sequence[Evidence]) -> tuple[str, float] | None:
    """Where it was last told what the thermostat is set to, and what."""
    told = [(e.source, e.fact.set_f) for e in said if isinstance(e.fact, RoomRead)]
    return next(((source, f) for source, f in reversed(told) if f is not None), None)


def _best(of_members: Floats, healthy: float) -> Floats:
    """The likelihood of whichever member speaks for the check best, else a healthy plant's."""
    best = np.fmax(of_members[:, 0], of_members[:, 1])
    return np.where(np.isnan(best), healthy, best)


def _member_logs(space: Space, found: Found) -> tuple[Floats, float]:
    """Log likelihood if this shared fault speaks for the finding, NaN if not; and if healthy."""
    logs = np.full(len(space.shared) + 1, np.nan)  # the last entry serves member -1
    concerned = concerned_by(space.plant, found.component)
    for n, candidate in enumerate(space.shared):
        expected = speaks_for(candidate.row, found, candidate.component)
        if expected and concerned(candidate.component, candidate.homes):
            logs[n] = np.log(chance(expected, found))
    return logs, float(np.log(chance((), found)))
