"""What the heat laws ask for at an instant.

Theory of operation
-------------------
Laws are rows of ``rules/data/heat_laws.yaml``: a text with the days it is in force, a season,
windows of the local clock with a floor, and a ceiling. An instant is first put into the building's
local time, so that a night with 23 or 25 hours has the windows its residents see on the clock. The
floor is the highest of all windows that cover the instant in a text in force on that local day. A
window with an outdoor trigger holds strictly below it; when nobody knows the outdoor temperature
it is taken to hold, because asking for too much heat only makes us earlier.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from rules.data import table

__all__ = [
    "LawText",
    "LawWindow",
    "floor_window",
    "highest_floor_f",
    "law_texts",
    "legal_floor_f",
    "texts_in_force",
]

MonthDay = tuple[int, int]


@dataclass(frozen=True, slots=True)
class LawWindow:
    """A stretch of the local clock, from included, to excluded; it may run over midnight."""

    starts: time
    ends: time | None  # None is midnight at the end of the day
    floor_f: float
    outdoor_below_f: float | None

    def covers(self, local: time) -> bool:
        """Whether the clock time lies in the window."""
        if self.ends is None:
            return local >= self.starts
        if self.starts < self.ends:
            return self.starts <= local < self.ends
        return local >= self.starts or local < self.ends

    def holds(self, outdoor_f: float | None) -> bool:
        """Whether the outdoor trigger, if there is one, is met."""
        return self.outdoor_below_f is None or outdoor_f is None or outdoor_f < self.outdoor_below_f


@dataclass(frozen=True, slots=True)
class LawText:
    """One text of a rule; see the table for the meaning of each field."""

    rule: str
    name: str
    effective_from: date | None
    effective_to: date | None
    season: tuple[MonthDay, MonthDay]
    windows: tuple[LawWindow, ...]
    ceiling_f: float | None
    source: str
    as_of: str
    mark: str
    response_hours: float | None
    response_says: str
    response_source: str

    def is_in_force(self, on: date) -> bool:
        """Whether the text holds on a local day, in or out of season."""
        return (self.effective_from is None or self.effective_from <= on) and (
            self.effective_to is None or on <= self.effective_to
        )

    def in_season(self, on: date) -> bool:
        """Whether a local day lies in the season, which may run over the new year."""
        first, last = self.season
        day = (on.month, on.day)
        return first <= day <= last if first <= last else day >= first or day <= last

    @property
    def cites(self) -> str:
        """The rule by name, and where its text was read."""
        return f"{self.name} ({self.source})"


def _time(text: str) -> time | None:
    return None if text == "24:00" else time.fromisoformat(text)


def _month_day(text: str) -> MonthDay:
    month, day = text.split("-")
    return int(month), int(day)


def _window(row: dict[str, Any]) -> LawWindow:
    return LawWindow(
        starts=_time(row["from"]) or time(0),
        ends=_time(row["to"]),
        floor_f=float(row["floor_f"]),
        outdoor_below_f=row.get("outdoor_below_f"),
    )


def _day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)


def _text(row: dict[str, Any]) -> LawText:
    response = row.get("response") or {}
    return LawText(
        rule=row["rule"],
        name=row["name"],
        effective_from=_day(row["effective_from"]),
        effective_to=_day(row["effective_to"]),
        season=(_month_day(row["season"]["from"]), _month_day(row["season"]["to"])),
        windows=tuple(_window(w) for w in row["windows"]),
        ceiling_f=row["ceiling_f"],
        source=row["source"],
        as_of=row["as_of"],
        mark=row["mark"],
        response_hours=response.get("hours"),
        response_says=response.get("says", ""),
        response_source=response.get("source", ""),
    )


@cache
def law_texts() -> tuple[LawText, ...]:
    """All texts of all rules, in the order of the table."""
    return tuple(_text(row) for row in table("heat_laws"))


def texts_in_force(heat_rule: str | None, on: date) -> tuple[LawText, ...]:
    """The texts of a rule in force on a local day; KeyError for an unknown rule."""
    if heat_rule is None:
        return ()
    texts = [text for text in law_texts() if text.rule == heat_rule]
    if not texts:
        raise KeyError(heat_rule)
    return tuple(text for text in texts if text.is_in_force(on))


def floor_window(
    texts: tuple[LawText, ...], local: datetime, outdoor_f: float | None
) -> tuple[float, LawText] | None:
    """The highest floor that some of these texts ask for at a local time, with the text."""
    floors = [
        (window.floor_f, text)
        for text in texts
        if text.in_season(local.date())
        for window in text.windows
        if window.covers(local.time()) and window.holds(outdoor_f)
    ]
    return max(floors, key=lambda floor: floor[0], default=None)


def legal_floor_f(
    heat_rule: str | None, at: datetime, timezone: str, outdoor_f: float | None
) -> float | None:
    """The least indoor temperature the law asks for at an instant; None where it asks for none."""
    local = at.astimezone(ZoneInfo(timezone))
    found = floor_window(texts_in_force(heat_rule, local.date()), local, outdoor_f)
    return None if found is None else found[0]


def highest_floor_f(heat_rule: str | None) -> float | None:
    """The highest floor of all texts of a rule: nothing at or above it can break the rule."""
    floors = [w.floor_f for text in law_texts() if text.rule == heat_rule for w in text.windows]
    return max(floors, default=None)
