"""What the hour and the weather are for a diagnosis: outdoor temperature, onset, waking hours."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from rules.data import table
from rules.model import Evidence, HourlyWeather, Reported

__all__ = ["awake_hours", "hours_since_onset", "outdoor_f"]

# Rooms answer to the mean of about this many hours.
_MEAN_HOURS = 12
# Without any weather: a cool day of the heating season, or a warm one outside it.
_ASSUMED_F = {True: 38.0, False: 66.0}
# People write about half a day after a fault begins (common practice, no source).
_HOURS_BEFORE_FIRST_REPORT = 12.0
_STEPS_HOURS = (12.0, 24.0, 48.0, 96.0)


def outdoor_f(weather: Sequence[HourlyWeather], now: datetime) -> float:
    """Mean outdoor temperature of the last hours, to a whole degree F.

    Falls back on the nearest hour within two days, then on the season.
    """
    recent = [
        w.outdoor_f
        for w in weather
        if now - timedelta(hours=_MEAN_HOURS) <= w.at <= now + timedelta(hours=1)
    ]
    if recent:
        return float(round(sum(recent) / len(recent)))
    near = [w for w in weather if abs(w.at - now) <= timedelta(days=2)]
    if near:
        return float(round(min(near, key=lambda w: abs(w.at - now)).outdoor_f))
    return _ASSUMED_F[now.month >= 10 or now.month <= 5]


def hours_since_onset(evidence: Sequence[Evidence], now: datetime) -> float:
    """Hours since the trouble probably began, in coarse steps."""
    first = _first_report(evidence)
    if first is None:
        return _STEPS_HOURS[0]
    hours = (now - first).total_seconds() / 3600 + _HOURS_BEFORE_FIRST_REPORT
    return max(step for step in _STEPS_HOURS if step <= max(hours, _STEPS_HOURS[0]))


def awake_hours(evidence: Sequence[Evidence], now: datetime, timezone: str) -> float:
    """Hours since the first report in which people could have written, nights counting less."""
    first = _first_report(evidence)
    if first is None or first >= now:
        return 0.0
    awake = table("reporting")["awake"]
    zone = ZoneInfo(timezone)
    # A week of silence says all that silence can say.
    hour = max(first, now - timedelta(days=7))
    total = 0.0
    while hour < now:
        step = min(timedelta(hours=1), now - hour)
        local = hour.astimezone(zone).hour
        is_awake = awake["from_hour"] <= local < awake["to_hour"]
        total += step.total_seconds() / 3600 * (1.0 if is_awake else awake["asleep_share"])
        hour += step
    return total


def _first_report(evidence: Sequence[Evidence]) -> datetime | None:
    return min((e.at for e in evidence if isinstance(e.fact, Reported)), default=None)
