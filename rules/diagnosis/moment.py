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
from functools import cache, lru_cache
from itertools import accumulate, pairwise
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from rules.data import table
from rules.model import ApartmentId, Evidence, HourlyWeather, Reported

__all__ = ["Onset", "Since", "Timeline", "is_gap", "outdoor_f", "timeline", "waking_share"]

Floats = NDArray[np.float64]

# Rooms answer to the mean of about a day: less, and a warm afternoon would pass for a warm week.
_MEAN_HOURS = 24
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


@dataclass(frozen=True, eq=False, slots=True)
class Since:
    """What an instant is to a fault that began at each onset; (onsets,)."""

    hours: Floats
    empty: Floats  # chance that a tank whose boiler it put out is empty then


@dataclass(frozen=True, slots=True)
class Timeline:
    """The candidate onsets, now, and when people of the building are awake."""

    onsets: tuple[Onset, ...]
    now: datetime
    quiet_until: datetime  # how long it counts that nobody of a home wrote
    zone: ZoneInfo
    # When it was known what a wave had told, and the first report after it.
    known: tuple[tuple[datetime, datetime], ...] = ()

    def unsaid_until(self, at: datetime) -> datetime:
        """How long it counts that whoever reported then had not written: until it was known."""
        return min((at, *(known for known, after in self.known if at >= after)))

    def hours(self, then: datetime) -> Floats:
        """Hours from each onset to an instant; (onsets,)."""
        return np.array([onset.hours(then) for onset in self.onsets])

    @property
    def chances(self) -> Floats:
        """How likely each onset is beforehand; (onsets,)."""
        return np.array([onset.chance for onset in self.onsets])

    def waking_pieces(self, until: datetime) -> tuple[Floats, Floats]:
        """The time from each onset to an instant in pieces; both (onsets, pieces).

        Returns:
            Hours since the onset at the middle of each piece, and waking hours within it.
        """
        return _all_pieces(self.onsets, until, self.zone)


@lru_cache(maxsize=64)
def _all_pieces(
    onsets: tuple[Onset, ...], until: datetime, zone: ZoneInfo
) -> tuple[Floats, Floats]:
    then = until.astimezone(zone).utcoffset()
    pieces = np.array([_pieces(onset, until, zone, then) for onset in onsets])
    return pieces[:, 0], pieces[:, 1]


def _pieces(
    onset: Onset, until: datetime, zone: ZoneInfo, then: timedelta | None
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """``then`` is how far clocks are off at ``until``."""
    start = max(onset.at, until - _LONGEST)
    if until <= start:
        return (0.0,) * _PIECES, (0.0,) * _PIECES
    length = until - start
    begun, hours = onset.hours(start), length / timedelta(hours=1) / _PIECES
    middles = tuple(begun + hours * (n + 0.5) for n in range(_PIECES))
    local, step = start.astimezone(zone), length / _PIECES
    if local.utcoffset() == then:
        return middles, _by_the_clock([(local + step * n).hour for n in range(_PIECES)], hours)
    return middles, tuple(_waking(start + step * n, step, zone) for n in range(_PIECES))


def _by_the_clock(begins: Sequence[int], length: float) -> tuple[float, ...]:
    """So many hours from each of some hours of the day on, nights counting less."""
    whole, rest = divmod(length, 1)
    days, hours = divmod(int(whole), 24)
    awake, before = _awake(), _awake_before()
    in_days = days * before[24]
    return tuple(
        in_days + before[hour + hours] - before[hour] + rest * awake[(hour + hours) % 24]
        for hour in begins
    )


def _waking(start: datetime, length: timedelta, zone: ZoneInfo) -> float:
    """The same from an instant on, where clocks may be changed on the way."""
    end = start + length
    local = start.astimezone(zone)
    if local.utcoffset() == end.astimezone(zone).utcoffset():
        return _by_the_clock([local.hour], length / timedelta(hours=1))[0]
    total, at = 0.0, start
    while at < end:
        step = min(timedelta(hours=1), end - at)
        total += step / timedelta(hours=1) * _awake()[at.astimezone(zone).hour]
        at += step
    return total


@cache
def _awake() -> tuple[float, ...]:
    """How much each hour of the day counts."""
    awake = table("reporting")["awake"]
    return tuple(
        1.0 if awake["from_hour"] <= hour < awake["to_hour"] else float(awake["asleep_share"])
        for hour in range(24)
    )


def waking_share(hour: Floats) -> Floats:
    """How much time at some hours counts, which may lie days off: nights count less."""
    return _awake_array().take(np.floor(hour).astype(np.intp) % 24)


@cache
def _awake_array() -> Floats:
    return np.array(_awake())


@cache
def _awake_before() -> tuple[float, ...]:
    """What the hours count before each hour of two days; 49 entries."""
    return (0.0, *accumulate(_awake() * 2))


def timeline(
    evidence: Sequence[Evidence], now: datetime, timezone: str, quiet_until: datetime | None = None
) -> Timeline:
    """Candidate onsets before the first report (or before now, if there is none).

    Nobody's silence counts after ``quiet_until``, nor long after the last home wrote: the more have
    written, the sooner it is known, and who has not written by then waits with the others.
    """
    first: dict[ApartmentId, datetime] = {}
    for e in evidence:
        if isinstance(e.fact, Reported):
            home = e.fact.apartment
            first[home] = min(e.at, first.get(home, e.at))
    begun = min((*first.values(), now))
    about = table("reporting")
    onsets = tuple(
        Onset(begun - timedelta(hours=float(h)), float(c))
        for h, c in about["onset_before_first_report"]
    )
    quiet = now if quiet_until is None else min(quiet_until, now)
    longest, told = timedelta(hours=float(about["silence_counts_hours"])), sorted(first.values())
    if told:
        quiet = min(quiet, told[-1] + longest / len(told))
    known = [
        (at + longest / homes, after)
        for homes, (at, after) in enumerate(pairwise(told), start=1)
        if is_gap(at, after)
    ]
    return Timeline(onsets, now, quiet, ZoneInfo(timezone), tuple(known))


def is_gap(before: datetime, after: datetime) -> bool:
    """Whether homes first wrote so far apart that a wave of reports ended in between."""
    return after - before > timedelta(hours=float(table("reporting")["waves_apart_hours"]))


def outdoor_f(weather: Sequence[HourlyWeather], now: datetime) -> float:
    """Mean outdoor temperature of the last hours, to a whole degree F.

    Falls back on the nearest hour within two days, then on the season.
    """
    since, until = now - timedelta(hours=_MEAN_HOURS), now + timedelta(hours=1)
    recent = [w.outdoor_f for w in weather if since <= w.at <= until]
    if recent:
        return float(round(sum(recent) / len(recent)))
    near = [w for w in weather if abs(w.at - now) <= timedelta(days=2)]
    if near:
        return float(round(min(near, key=lambda w: abs(w.at - now)).outdoor_f))
    return _ASSUMED_F[now.month >= 10 or now.month <= 5]
