"""The house's own rules for how soon somebody comes: rows with conditions, each setting a class."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import UTC, datetime, time, timedelta
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from rules.data import table
from rules.model import Care, Kind
from rules.urgency.forecast import Forecast, Outdoors, first_below

__all__ = [
    "Facts",
    "Night",
    "Report",
    "Trigger",
    "danger_rows",
    "next_working_morning",
    "night",
    "shortest",
    "triggers",
]

_OUTDOOR_AHEAD = timedelta(hours=12)
_ANY_CARE = frozenset(Care)
_SATURDAY = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """What one household has told, as far as its time depends on it.

    ``since`` is when it was opened, or opened again for the last time. ``indoor`` forecasts the room of
    a home that told a temperature, ``guessed`` of one that did not. ``seen`` says that visits for the
    same trouble have found nothing lately.
    """

    home: str
    since: datetime
    kinds: frozenset[Kind]
    danger: tuple[str, ...] = ()
    care: frozenset[Care] = frozenset()
    room_f: float | None = None
    answered: frozenset[tuple[str, str]] = frozenset()  # what was told besides, as topic and choice
    indoor: Forecast | None = None
    guessed: Forecast | None = None
    seen: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """One report of a ticket, with what holds for all of them."""

    now: datetime
    timezone: str
    heat_rule: str | None
    outdoors: Outdoors
    told: Report
    homes: int  # that had reported when this one did
    shared: bool

    @property
    def since(self) -> datetime:
        """When what holds already began to count: the report, whenever we look."""
        return min(self.told.since.astimezone(UTC), self.now)


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
    seen: bool | None = None

    def applies(self, facts: Facts) -> bool:
        """Whether all conditions of the row hold for a report."""
        told = facts.told
        return (
            (self.kinds is None or bool(self.kinds & told.kinds))
            and (self.care is None or bool(self.care & told.care))
            and (self.answered is None or self.answered in told.answered)
            and (self.seen is None or self.seen is told.seen)
            and facts.homes >= self.homes
            and (facts.shared or not self.shared)
            and self._room(told.room_f)
            and self._outdoors(facts)
            and self._forecast(facts)
        )

    def _room(self, room_f: float | None) -> bool:
        if self.room_below_f is not None:
            cold = self.or_unknown if room_f is None else room_f < self.room_below_f
            if not cold:
                return False
        return self.room_above_f is None or (room_f is not None and room_f > self.room_above_f)

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
            for ahead in (facts.told.indoor, facts.told.guessed)
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


@dataclass(frozen=True, slots=True)
class Night:
    """The hours in which nobody is sent for a home that is only slightly too cool."""

    starts: time
    ends: time
    mild_from_f: float

    def morning_of(self, at: datetime, timezone: str) -> datetime:
        """The morning after an instant of the night; any other instant as it is."""
        local = at.astimezone(ZoneInfo(timezone))
        if self.ends <= local.time() < self.starts:
            return at
        day = local.date() + timedelta(days=local.time() >= self.starts)
        return datetime.combine(day, self.ends, tzinfo=local.tzinfo).astimezone(UTC)


@cache
def night() -> Night:
    """As the table has it."""
    row = table("urgency")["night"]
    starts, ends = (time.fromisoformat(row[name]) for name in ("from", "to"))
    return Night(starts, ends, float(row["mild_from_f"]))


@cache
def shortest() -> timedelta:
    """The time of the most pressing class."""
    classes = table("urgency")["classes"].values()
    return timedelta(hours=min(float(row["hours"]) for row in classes))


def danger_rows() -> Mapping[str, Mapping[str, str]]:
    """What to say of each danger, and where the advice comes from."""
    rows: Mapping[str, Mapping[str, str]] = table("urgency")["danger"]
    return rows
