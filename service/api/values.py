"""Single values as callers write them: instants, dates, numbers."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from typing import Annotated

from pydantic import BeforeValidator, Field

__all__ = ["Day", "Instant", "Number"]

EARLIEST, LATEST = 1971, 2199
_LEAP_SECOND = re.compile(r"(T\d\d:\d\d):60")


def _instant(value: object) -> datetime:
    if not isinstance(value, str):
        raise ValueError("is a time as text, for example 2026-01-09T20:00:00-05:00")  # noqa: TRY004
    # RFC 3339, 5.6: small letters are allowed, and a minute that ends a month may have a second 60.
    written = value.upper()
    leapless = _LEAP_SECOND.sub(r"\1:59", written)
    try:
        found = datetime.fromisoformat(leapless)
    except ValueError:
        raise ValueError("is no RFC 3339 time") from None
    if found.tzinfo is None:
        raise ValueError("needs an offset, for example -05:00 or Z")
    if not EARLIEST <= found.year <= LATEST:
        raise ValueError(f"lies outside the years {EARLIEST} to {LATEST}")
    found = found.astimezone(UTC)
    if leapless == written:
        return found
    found += timedelta(seconds=1)
    if (found.day, found.hour, found.minute) != (1, 0, 0):
        raise ValueError("is no RFC 3339 time: no minute but the last of a month has a second 60")
    return found


def _day(value: object) -> date | None:
    if value is None:
        return None
    try:
        found = date.fromisoformat(value if isinstance(value, str) else "")
    except ValueError:
        raise ValueError("is a date as year-month-day") from None
    if not 1900 <= found.year <= LATEST:
        raise ValueError(f"lies outside the years 1900 to {LATEST}")
    return found


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError("is a number")  # noqa: TRY004 - pydantic collects ValueErrors
    if abs(value) > 1e12:
        raise ValueError("is larger than any reading")
    return float(value)


Instant = Annotated[datetime, BeforeValidator(_instant)]
Number = Annotated[float, BeforeValidator(_number), Field(allow_inf_nan=False)]
Day = Annotated[date | None, BeforeValidator(_day)]
