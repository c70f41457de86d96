"""What the hour and the weather are for a diagnosis: outdoor temperature, onset, waking hours.

Theory of operation
-------------------
Nobody knows when a fault began, only when the first household wrote. The onset is a latent variable: a
few candidate times before the first report, with the share of faults that are noticed that fast. What
people would have noticed by now depends on it, so the times at which reports came in speak for one onset
or another, together with everything else.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from rules.data import table
from rules.model import Evidence, HourlyWeather, Reported

__all__ = ["Onset", "Timeline", "outdoor_f", "timeline"]

# Rooms answer to the mean of about this many hours.
_MEAN_HOURS = 12
# Without any weather: a cool day of the heating season, or a warm one outside it.
_ASSUMED_F = {True: 38.0, False: 66.0}
_LONGEST = timedelta(days=7)  # more silence says no more
_PIECES = 4


@dataclass(frozen=True, slots=True)
class Onset:
    """One candidate: when it began, how likely that is beforehand."""

    at: datetime
    chance: float

    def hours(self, then: datetime) -> float:
        """Hours from the onset to an instant."""
        return max((then - self.at).total_seconds() / 3600, 0.0)


@dataclass(frozen=True, slots=True)
class Timeline:
    """The candidate onsets, now, and when people of the building are awake."""

    onsets: tuple[Onset, ...]
    now: datetime
    zone: ZoneInfo

    def waking_pieces(self, onset: Onset, until: datetime) -> tuple[tuple[float, float], ...]:
        """The time from the onset to an instant in pieces: (hours since onset, waking hours)."""
        start = max(onset.at, until - _LONGEST)
        if until <= start:
            return ()
        step = (until - start) / _PIECES
        return tuple(
            (onset.hours(start + step * (n + 0.5)), _waking(start + step * n, step, self.zone))
            for n in range(_PIECES)
        )


@lru_cache(maxsize=512)
def _waking(start: datetime, length: timedelta, zone: ZoneInfo) -> float:
    """Hours in which people could have written, nights counting less."""
    awake = table("reporting")["awake"]
    total, at, end = 0.0, start, start + length
    while at < end:
        step = min(timedelta(hours=1), end - at)
        is_awake = awake["from_hour"] <= at.astimezone(zone).hour < awake["to_hour"]
        total += step.total_seconds() / 3600 * (1.0 if is_awake else awake["asleep_share"])
        at += step
    return total


def timeline(evidence: Sequence[Evidence], now: datetime, timezone: str) -> Timeline:
    """Candidate onsets before the first report (or before now, if there is none)."""
    first = min((e.at for e in evidence if isinstance(e.fact, Reported)), default=now)
    first = min(first, now)
    before = table("reporting")["onset_before_first_report"]
    onsets = tuple(Onset(first - timedelta(hours=float(h)), float(c)) for h, c in before)
    return Timeline(onsets, now, ZoneInfo(timezone))


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
