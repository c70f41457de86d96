"""When a text may go out: by day, at once to somebody who is awake, and at any hour for safety.

Pure functions of the times they are given. Building time decides, on the nights of a clock change
too, because only the wall clock is looked at.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

__all__ = ["FRESH", "MOST_AT_ONCE", "SPACING", "awake_at", "is_fresh", "send_time", "spaced"]

# Common practice, no source: nobody is texted at night unless it cannot wait or they just wrote.
DAY_STARTS = time(8, 0)
DAY_ENDS = time(21, 0)
# Somebody who wrote this recently is awake.
FRESH = timedelta(minutes=10)
# Texts of our own accord, to one number: what a household bears (common practice, no source).
MOST_AT_ONCE = 5
SPACING = timedelta(minutes=10)


def send_time(
    now: datetime, timezone: str, *, urgent: bool = False, wrote_at: datetime | None = None
) -> datetime:
    """The first moment from ``now`` on at which a text may go out.

    ``wrote_at`` is when the household wrote what this answers.
    """
    if urgent or (wrote_at is not None and is_fresh(wrote_at, now)):
        return now
    return awake_at(now, timezone)


def is_fresh(at: datetime, now: datetime) -> bool:
    """Whether something happened so recently that an answer to it disturbs nobody."""
    return now - at <= FRESH


def awake_at(now: datetime, timezone: str) -> datetime:
    """The first moment from ``now`` on at which a text disturbs nobody, in building time."""
    zone = ZoneInfo(timezone)
    local = now.astimezone(zone)
    if DAY_STARTS <= local.time() < DAY_ENDS:
        return now
    day = local.date() + timedelta(days=1 if local.time() >= DAY_ENDS else 0)
    return datetime.combine(day, DAY_STARTS, tzinfo=zone).astimezone(now.tzinfo)


def spaced(before: Sequence[datetime], at: datetime, timezone: str) -> datetime:
    """The time for one more text of our own accord: never more than a few within ten minutes.

    ``before`` are the times of the last such texts to the number, sent or still to be sent. None
    overtakes an earlier one.
    """
    times = sorted(before)
    at = max([at, *times[-1:]])
    if len(times) >= MOST_AT_ONCE:
        at = max(at, times[-MOST_AT_ONCE] + SPACING)
    return awake_at(at, timezone)
