"""Forecasts: what the worst home will read, and the outdoor temperature at an hour.

Between two points of an indoor forecast the temperature runs along a straight line; a limit is
passed at the first whole minute below it. Times are put into UTC first: arithmetic between two
times of one zone would count wall-clock hours. A forecast that is nowhere warmer passes no limit
later.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from rules.model import HourlyWeather

__all__ = ["Forecast", "Outdoors", "first_below"]

_MINUTE = timedelta(minutes=1)
_STALE = timedelta(minutes=90)  # an hourly value says nothing about a time further away than that


@dataclass(frozen=True, slots=True)
class Forecast:
    """Predicted indoor temperature (F) of the worst home, as (time, temperature) in time order."""

    hours: tuple[tuple[datetime, float], ...]


class Outdoors:
    """Outdoor temperatures, observed or forecast, ready to be asked about any instant."""

    def __init__(self, weather: Sequence[HourlyWeather]) -> None:
        """Sort the hours once; they may come in any order."""
        hours = sorted(weather, key=lambda hour: hour.at)
        self._times = [hour.at.astimezone(UTC) for hour in hours]
        self._values = [hour.outdoor_f for hour in hours]

    def at(self, instant: datetime) -> float | None:
        """The latest value at or before an instant; None if there is none recent enough."""
        index = bisect_right(self._times, instant) - 1
        if index < 0 or instant - self._times[index] > _STALE:
            return None
        return self._values[index]

    def lowest(self, start: datetime, end: datetime) -> float | None:
        """The lowest value that holds at some time from start to end."""
        inside = [v for t, v in zip(self._times, self._values, strict=True) if start < t <= end]
        at_start = self.at(start)
        return min(inside if at_start is None else [*inside, at_start], default=None)


def first_below(
    forecast: Forecast,
    limit_f: Callable[[datetime], float | None],
    never_above_f: float,
    until: datetime | None = None,
) -> datetime | None:
    """The first minute at which the forecast is under the limit that holds then.

    Args:
        forecast: the indoor temperature.
        limit_f: the limit at an instant, None where there is none.
        never_above_f: what the limit never exceeds; spares looking at warm hours minute by minute.
        until: the last instant to look at.
    """
    points = [(at.astimezone(UTC), room_f) for at, room_f in forecast.hours]
    for (start, from_f), (end, to_f) in zip(points, points[1:] or points[-1:], strict=False):
        if min(from_f, to_f) >= never_above_f:
            continue
        minutes = max(int((end - start) / _MINUTE), 1)
        for minute in range(minutes + 1):
            at = start + minute * _MINUTE
            if until is not None and at > until:
                return None
            limit = limit_f(at)
            if limit is not None and from_f + (to_f - from_f) * minute / minutes < limit:
                return at
    return None
