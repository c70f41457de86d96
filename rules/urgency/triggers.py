"""The house's own rules for how soon somebody comes: rows with conditions, each setting a class."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import datetime, time, timedelta
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from rules.data import table
from rules.model import Care, Kind
from rules.urgency.forecast import Forecast, Outdoors, first_below

__all__ = ["Facts", "Trigger", "danger_rows", "next_working_morning", "triggers"]

_OUTDOOR_AHEAD = timedelta(hours=12)
_ANY_CARE = frozenset(Care)
_SATURDAY = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What is known about a ticket when its time is set."""

    now: datetime
    opened_at: datetime
    timezone: str
    heat_rule: str | None
    outdoors: Outdoors
    kinds: frozenset[Kind]
    danger: tuple[str, ...]
    care: frozenset[Care]
    lowest_room_f: float | None
    highest_room_f: float | None
    homes: int
    shared: bool
    indoor: Forecast | None  # of homes that told a temperature
    guessed: Forecast | None  # of homes that did not
    answered: frozenset[tuple[str, str]] = frozenset()  # what was told, as topic and choice

    @property
    def since(self) -> datetime:
        """When what holds already began to count: the complaint, whenever we look."""
        return min(self.opened_at, self.now)


def next_working_morning(now: datetime, timezone: str) -> datetime:
    """The next 8 am of a Monday to Friday, building-local; holidays are not known."""
    local = now.astimezone(ZoneInfo(timezone))
    day = local.date()
    morning = datetime.combine(day, time(8), tzinfo=local.tzinfo)
    while morning <= local or morning.weekday() >= _SATURDAY:
        day += timedelta(days=1)
        morning = datetime.combine(day, time(8), tzinfo=local.tzinfo)
    return morning


@dataclass(frozen=True, slots=True, kw_only=True)
class Trigger:
    """One row: its conditions (see the table) and the class it sets."""

    id: str
    says: str
    source: str
    hours: float
    kinds: frozenset[Kind] | None = None
    care: frozenset[Care] | None = None
    room_below_f: float | None = None
    or_unknown: bool = False
    room_above_f: float | None = None
    outdoor_below_f: float | None = None
    indoor_below_f: float | None = None
    answered: tuple[str, str] | None = None
    homes: int = 1
    shared: bool = False

    def applies(self, facts: Facts) -> bool:
        """Whether all conditions of the row hold."""
        return (
            (self.kinds is None or bool(self.kinds & facts.kinds))
            and (self.care is None or bool(self.care & facts.care))
            and (self.answered is None or self.answered in facts.answered)
            and facts.homes >= self.homes
            and (facts.shared or not self.shared)
            and self._room(facts)
            and self._outdoors(facts)
            and self._forecast(facts)
        )

    def _room(self, facts: Facts) -> bool:
        low, high = facts.lowest_room_f, facts.highest_room_f
        if self.room_below_f is not None:
            cold = self.or_unknown if low is None else low < self.room_below_f
            if not cold:
                return False
        return self.room_above_f is None or (high is not None and high > self.room_above_f)

    def _outdoors(self, facts: Facts) -> bool:
        if self.outdoor_below_f is None:
            return True
        lowest = facts.outdoors.lowest(facts.now, facts.now + _OUTDOOR_AHEAD)
        return lowest is not None and lowest < self.outdoor_below_f

    def _forecast(self, facts: Facts) -> bool:
        limit = self.indoor_below_f
        if limit is None:
            return True
        until = next_working_morning(facts.now, facts.timezone)
        return any(
            first_below(ahead, lambda _at: limit, limit, until) is not None
            for ahead in (facts.indoor, facts.guessed)
            if ahead is not None
        )


_CONDITIONS = {f.name for f in fields(Trigger)} - {
    "id", "says", "source", "hours", "kinds", "care", "answered",
}  # fmt: skip


def _care(names: list[str]) -> frozenset[Care]:
    return _ANY_CARE if names == ["any"] else frozenset(Care(name) for name in names)


def _trigger(row: Mapping[str, Any], classes: Mapping[str, Any]) -> Trigger:
    when = dict(row["when"])
    kinds, care = when.pop("kinds", None), when.pop("care", None)
    answered = when.pop("answered", None)
    unknown = set(when) - _CONDITIONS
    if unknown:
        raise ValueError(f"urgency row {row['id']}: unknown conditions {sorted(unknown)}")
    within = classes[row["within"]]
    return Trigger(
        id=row["id"],
        says=f"{row['says']}: {within['says']}",
        source=row["source"],
        hours=float(within["hours"]),
        kinds=None if kinds is None else frozenset(Kind(kind) for kind in kinds),
        care=None if care is None else _care(care),
        answered=None if answered is None else (answered[0], answered[1]),
        **when,
    )


@cache
def triggers() -> tuple[Trigger, ...]:
    """All rows, in the order of the table."""
    data = table("urgency")
    return tuple(_trigger(row, data["classes"]) for row in data["rows"])


def danger_rows() -> Mapping[str, Mapping[str, str]]:
    """What to say of each danger, and where the advice comes from."""
    rows: Mapping[str, Mapping[str, str]] = table("urgency")["danger"]
    return rows
