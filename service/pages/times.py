"""Words for times, in the building's own zone."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from markupsafe import Markup

from service.pages.words import clean

__all__ = [
    "clock_words",
    "date_words",
    "dated_words",
    "day_words",
    "due_words",
    "lasted_words",
    "since_words",
    "when_words",
    "with_times",
    "years_words",
    "zones_words",
]

# As the audit log holds them, always with an offset (RFC 3339).
_ISO_TIME = re.compile(r"(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?[+-]\d\d:\d\d)")


def with_times(text: str, now: datetime, timezone: str) -> Markup:
    """A text with its ISO times as people say them; the exact one stands in ``datetime``."""
    pieces = _ISO_TIME.split(str(clean(text)))
    said = Markup('<time datetime="{}">{}</time>')
    return Markup("").join(
        said.format(piece, when_words(datetime.fromisoformat(piece), now, timezone))
        if n % 2
        else piece
        for n, piece in enumerate(pieces)
    )


def clock_words(at: datetime, timezone: str) -> str:
    """The time of day in the building's zone: ``7:00 pm``."""
    local = at.astimezone(ZoneInfo(timezone))
    return f"{local.hour % 12 or 12}:{local.minute:02d} {'am' if local.hour < 12 else 'pm'}"


def day_words(at: datetime, now: datetime, timezone: str) -> str:
    """The day as people say it: today, tomorrow, yesterday, Tue, or Tue 24 Nov."""
    zone = ZoneInfo(timezone)
    local = at.astimezone(zone)
    days = (local.date() - now.astimezone(zone).date()).days
    near = {-1: "yesterday", 0: "today", 1: "tomorrow"}.get(days)
    if near:
        return near
    if 0 < days < 7:
        return local.strftime("%a")
    # A past weekday would be read as the coming one, so it always carries its date.
    dated = f"{local.strftime('%a')} {local.day} {local.strftime('%b')}"
    return dated if abs(days) < 180 else f"{dated} {local.year}"


def date_words(on: date) -> str:
    """The date of a part: ``9 Jan 2026``; the first of a month is a month that was written down."""
    return f"{f'{on.day} ' if on.day > 1 else ''}{on.strftime('%b')} {on.year}"


def dated_words(at: datetime, timezone: str) -> str:
    """For a record that is read long after: ``5:20 pm, 13 Jan 2027``."""
    local = at.astimezone(ZoneInfo(timezone))
    return f"{clock_words(at, timezone)}, {local.day} {local.strftime('%b')} {local.year}"


def lasted_words(span: timedelta) -> str:
    """How long something lasted: ``40 min``, ``14 h 10 min``, ``3 days 2 h``."""
    minutes = max(0, round(span.total_seconds() / 60))
    days, hours = divmod(minutes // 60, 24)
    parts = [f"{days} day{'s' if days > 1 else ''}"] if days else []
    parts += [f"{hours} h"] if hours else []
    parts += [f"{minutes % 60} min"] if not days and (minutes % 60 or not hours) else []
    return " ".join(parts)


def when_words(at: datetime, now: datetime, timezone: str) -> str:
    """Time and day together: ``7:00 pm today``."""
    return f"{clock_words(at, timezone)} {day_words(at, now, timezone)}"


def due_words(at: datetime, now: datetime, timezone: str, danger: bool = False) -> str:
    """A respond-by time: ``by 7:00 pm today``, ``now`` or, once passed, ``was due by ...``.

    A danger is never "was due": it is due now, since it was first heard of.
    """
    minutes = (at - now).total_seconds() / 60
    if -5 <= minutes <= 5:
        return "now"
    if danger and minutes < 0:
        return f"now, since {when_words(at, now, timezone)}"
    return f"{'by' if minutes > 0 else 'was due by'} {when_words(at, now, timezone)}"


def since_words(at: datetime, now: datetime) -> str:
    """How long ago, roughly: ``just now``, ``40 min ago``, ``3 h ago``, ``2 days ago``."""
    minutes = max(0, int((now - at).total_seconds() // 60))
    if minutes < 2:
        return "just now"
    if minutes < 90:
        return f"{minutes} min ago"
    hours = round(minutes / 60)
    return f"{hours} h ago" if hours < 48 else f"{round(hours / 24)} days ago"


def years_words(years: float) -> str:
    """An age or a life: "14 years", "8 months", "less than a month"."""
    months = round(years * 12)
    if months < 1:
        return "less than a month"
    if months < 24:
        return "1 month" if months == 1 else f"{months} months"
    return f"{years:.0f} years"


def zones_words(zones: Iterable[str]) -> str:
    """Whose times a page shows that speaks of many buildings."""
    named = sorted(set(zones))
    whose = "Times are those of the buildings" if len(named) == 1 else "Each time is its building's"
    return f"{whose} ({', '.join(named)})."
