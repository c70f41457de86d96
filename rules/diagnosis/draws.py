"""How much hot water a house draws at which hours, and whether a tank that nobody heats is empty then.

Hours are of the clock, from one midnight on: 26.5 is half past two on the day after, -1 an hour before.
"""

from __future__ import annotations

from datetime import datetime
from functools import cache
from itertools import accumulate, pairwise
from zoneinfo import ZoneInfo

import numpy as np

from rules.data import table
from rules.diagnosis.exact import Floats
from rules.diagnosis.moment import waking_share

__all__ = ["gone", "hour_of", "waking_hours"]

_DAYS = 9  # to both sides; beyond them every tank is empty


def hour_of(at: datetime, zone: ZoneInfo) -> float:
    """The hour of the day by the clocks of the building."""
    local = at.astimezone(zone)
    return local.hour + local.minute / 60


def waking_hours(hour: float, begun: Floats, stores: Floats) -> tuple[Floats, Floats]:
    """From when a tank was not heated any more until an hour, and those in which it was empty.

    By what it held, each as the share of tanks that hold less: (onsets, stores); all together
    (onsets, 1).
    """
    hours, drawn, awake = _by_hour()
    begin = begun[:, None]
    days, share = _holds()
    ends = np.interp(begin, hours, drawn) + np.interp(stores, share, days)
    empty_from = np.minimum(np.interp(ends, drawn, hours), hour)
    by_now = np.interp(hour, hours, awake)
    return by_now - np.interp(begin, hours, awake), by_now - np.interp(empty_from, hours, awake)


def gone(hour: float, begun: float) -> float:
    """Chance that a tank is empty at an hour that nobody has heated since another."""
    drawn = _drawn_until(hour) - _drawn_until(begun)
    for (less, before), (more, after) in pairwise(table("reporting")["tank_holds_days"]):
        if drawn < more:
            return float(before + (after - before) * max(drawn - less, 0.0) / (more - less))
    return 1.0


@cache
def _holds() -> tuple[Floats, Floats]:
    """Days' worth that a tank may hold, and the share of tanks that hold no more."""
    days, share = np.array(table("reporting")["tank_holds_days"], dtype=np.float64).T
    return days, share


def _drawn_until(hour: float) -> float:
    """Days' worth of hot water drawn from that midnight on."""
    days, left = divmod(hour, 24.0)
    drawn, whole = _drawn_in_a_day(), int(left)
    return days + drawn[whole] + (left - whole) * (drawn[whole + 1] - drawn[whole])


@cache
def _by_hour() -> tuple[Floats, Floats, Floats]:
    """Whole hours over some days to both sides, days' worth drawn by each, and time awake by then."""
    hours = np.arange(-24.0 * _DAYS, 24 * _DAYS + 1)
    drawn = np.array([_drawn_until(hour) for hour in hours])
    return hours, drawn, np.concatenate([[0.0], waking_share(hours[:-1]).cumsum()])


@cache
def _drawn_in_a_day() -> tuple[float, ...]:
    """The share of a day's hot water that is drawn before each hour of it, and its end; 25 entries."""
    by_hour = [float(share) for share in table("reporting")["hot_water_drawn"]]
    return (0.0, *accumulate(share / sum(by_hour) for share in by_hour))
