"""Temperatures told, and the spells under the heat law that they make, home by home.

A spell begins with the first temperature told under the law. It ends with the first told that is not
under it, or with the report; between two temperatures nobody measured. With a repair the report ends
before the room is warm: when the household next told that it is stands beside.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

__all__ = ["HeatLine", "HeatSpell", "heat_spells"]


@dataclass(frozen=True, slots=True)
class HeatLine:
    """One temperature that a household told; nothing in it is ever changed, only added to."""

    at: datetime  # when it was told
    came_at: datetime | None  # when we heard of it, where that was much later
    apartment: str
    room_f: float
    source: str
    message: str  # the id of what told it, as the inbox has it; empty where there is none
    outdoor_f: float | None
    floor_f: float | None  # what the law asked for at that hour; None: nothing
    law: str
    reference: str  # of the ticket it belongs to
    acted_at: datetime | None  # the first act of a person on that ticket since we heard of it
    acted: str
    ended_at: datetime | None  # when the household's report ended, and how
    ended: str
    right_at: datetime | None  # the household said, after a repair had ended it, that all is right
    taken_back_at: datetime | None  # the household, or the desk, has withdrawn what it told

    @property
    def short_f(self) -> float:
        """How far it was under what the law asked for; 0 where it was not."""
        return 0.0 if self.floor_f is None else max(0.0, self.floor_f - self.room_f)


@dataclass(frozen=True, slots=True)
class HeatSpell:
    """One home under the law."""

    apartment: str
    since: datetime
    until: datetime | None  # None: it goes on
    warm_f: float | None  # the temperature that ended it; None: the report ended, or it goes on
    worst: HeatLine  # what was told furthest under the law of its hour
    acted_at: datetime | None
    acted: str
    right_at: datetime | None = None  # after its end with a repair, when it was told warm or right

    def lasted(self, now: datetime) -> timedelta:
        """From its beginning to its end, or until now."""
        return (self.until or now) - self.since

    @property
    def acted_after(self) -> timedelta | None:
        """How long after its beginning a person first acted."""
        return self.acted_at - self.since if self.acted_at is not None else None


def heat_spells(told: Iterable[HeatLine]) -> tuple[HeatSpell, ...]:
    """All spells of lines that count, those that go on first, then the newest."""
    homes: dict[str, list[HeatLine]] = {}
    for line in sorted(told, key=lambda line: line.at):
        homes.setdefault(line.apartment, []).append(line)
    found = [spell for lines in homes.values() for spell in _of_home(lines)]
    found.sort(key=lambda spell: spell.apartment)
    found.sort(key=lambda spell: spell.since, reverse=True)
    return tuple(sorted(found, key=lambda spell: spell.until is not None))


def _of_home(lines: Sequence[HeatLine]) -> list[HeatSpell]:
    """Of lines in order of time."""
    found: list[HeatSpell] = []
    cold: list[HeatLine] = []
    for line in lines:
        if cold and _is_over_by(cold[-1], line.at):
            found.append(_spell(cold, cold[-1].ended_at, next_told=line))
            cold = []
        if line.short_f > 0:
            cold.append(line)
        elif cold:
            found.append(_spell(cold, line.at, line.room_f))
            cold = []
    if cold:
        found.append(_spell(cold, cold[-1].ended_at))
    return found


def _is_over_by(line: HeatLine, at: datetime) -> bool:
    return line.ended_at is not None and line.ended_at <= at


def _spell(
    cold: Sequence[HeatLine],
    until: datetime | None,
    warm_f: float | None = None,
    next_told: HeatLine | None = None,
) -> HeatSpell:
    said_right = [cold[-1].right_at] if cold[-1].right_at is not None else []
    if next_told is not None and next_told.short_f == 0:
        said_right.append(next_told.at)
    acts = [(line.acted_at, line.acted) for line in cold if line.acted_at is not None]
    acted_at, acted = min(acts, default=(None, ""))
    return HeatSpell(
        apartment=cold[0].apartment,
        since=cold[0].at,
        until=until,
        warm_f=warm_f,
        worst=max(cold, key=lambda line: line.short_f),
        acted_at=acted_at,
        acted=acted,
        right_at=min(said_right, default=None),
    )
