"""What people notice and say: the chance of a report, and of a told temperature.

Theory of operation
-------------------
A report of some kinds at a time has the product of their chances then, times the chance that the other
noticeable kinds were left out, times the chance that the home had not written before. Left-outs and
rates of what is heard or seen are sums of a part that only the look decides and one that only the own
state decides; the rest goes by keys.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

import numpy as np

from rules.data import table
from rules.diagnosis.exact import Floats
from rules.diagnosis.felt import at_its_hour, hours_felt
from rules.diagnosis.keys import Feature, collapse, feature, its_own, physics
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.moment import Timeline
from rules.diagnosis.reporting import (
    THERMAL,
    is_vague,
    left_out,
    left_out_steadily,
    made_by_temperature,
    noise_chances,
    steady_chances,
    steady_rates,
    tank_rates,
    thermal_chance,
    thermal_left_out,
    thermal_rates,
    thermal_steps,
    waking_days,
)
from rules.diagnosis.said import Said
from rules.diagnosis.setting import held_f
from rules.diagnosis.tanks import has_tank, lasted, outlasts
from rules.heat.columns import column
from rules.model import Kind, Reported, RoomRead

__all__ = [
    "merged",
    "report_said",
    "room_said",
]

_FLOOR = 1e-9


def report_said(
    home: HomeClass,
    reported: Reported,
    at: datetime,
    times: Timeline,
    empty: Floats,
) -> Said:
    """A report of these kinds then, all else left out, and nothing written before.

    ``empty``: chance that a tank has run out by then, by each onset; (onsets,).
    """
    of_tank = empty.tobytes() if has_tank(home) else b""
    until = times.unsaid_until(at)
    name = (reported.kinds, reported.noise, at, until, times.onsets, times.zone, of_tank)
    return home.reports.once(name, lambda: _report_said(home, reported, at, times, empty[:, None]))


def _report_said(
    home: HomeClass, reported: Reported, at: datetime, times: Timeline, empty: Floats
) -> Said:
    # What was left out, and that nothing else was written before: by look and by own state alone.
    until = times.unsaid_until(at)
    days = waking_days(until, times)[:, None]
    look_rate, own_rate = steady_rates(home)
    look_unsaid, own_unsaid = left_out_steadily(home, reported.kinds)
    by_own = own_unsaid - days * own_rate
    if Kind.TOO_HOT in reported.kinds:
        by_own = by_own + at_its_hour(home, at.astimezone(times.zone).hour)
    said = _said_features(home, reported)
    aside = _own_aside(home, reported.kinds)
    keys = collapse(home, [physics(home), its_own(home), *said, aside])
    steps = thermal_steps(home, at, times)
    unsaid = -thermal_rates(home.physics.courses, until, times)
    for kind in THERMAL:
        if not is_vague(reported.kinds) and kind not in reported.kinds:
            unsaid = unsaid + thermal_left_out(kind, steps)
    spots = keys.spots(said)
    total = unsaid.take(spots.course, axis=1)
    for kind in sorted(reported.kinds):
        by_look, by_state = _said(home, kind, reported)
        spared = (1 - by_look[spots.look]) * (1 - by_state[spots.own])
        if kind is Kind.NO_HOT_WATER and has_tank(home):
            late = outlasts(home)[spots.look]
            spared = 1 - (1 - spared) * (1 - late + late * empty)
        for thermal, share in made_by_temperature(kind).items():
            chance = thermal_chance(thermal, steps).take(spots.course, axis=1)
            spared = (1 - share * chance) * spared
        total += np.log(np.maximum(1 - spared, _FLOOR))
    by_key = total.take(spots.of_key, axis=1)
    by_key += by_own[:, None, keys.own]
    look_unsaid = look_unsaid - days * look_rate
    if has_tank(home):
        look_unsaid = look_unsaid + _while_a_tank_lasts(home, reported, at, times, empty)
    return Said.from_logs(keys, by_key, look_unsaid)


def _while_a_tank_lasts(
    home: HomeClass, reported: Reported, at: datetime, times: Timeline, empty: Floats
) -> Floats:
    """What the log of taps that were not spoken of is too low by, as long as they were not cold.

    Of the time until a report, and at it; ``empty`` then, (onsets, 1). Shape (onsets, looks).
    """
    until = times.unsaid_until(at)
    lasted_days = waking_days(until, times) * lasted(times, until)
    unsaid: Floats = np.multiply.outer(lasted_days, tank_rates(home))
    if is_vague(reported.kinds) or Kind.NO_HOT_WATER in reported.kinds:
        return unsaid
    chance = steady_chances(home, Kind.NO_HOT_WATER)[0]
    late = outlasts(home)
    unsaid += left_out(chance * (1 - late + late * empty)) - left_out(chance)
    return unsaid


def _own_aside(home: HomeClass, spoken: frozenset[Kind]) -> Feature:
    """What of one's own is left out of a report of these kinds, and how often it is spoken of."""

    def values() -> tuple[Floats, Floats]:
        felt = hours_felt(home) if Kind.TOO_HOT in spoken else np.zeros(home.shape[1])
        by_own = [steady_rates(home)[1], left_out_steadily(home, spoken)[1], felt]
        return np.zeros((home.shape[0], 1)), np.stack(by_own, axis=1)

    return feature(home, ("own aside", spoken), values)


def room_said(home: HomeClass, read: RoomRead, hours: Floats) -> Said:
    """A told room temperature: what the thermostat shows, what is felt, or the set point.

    A room that is held stays near its set point; how far one that is not has drifted is known the less
    the farther it went. Needs ``read.room_f``; ``hours`` since each onset.
    """
    assert read.room_f is not None  # noqa: S101 - that is what the caller looked for
    about = table("reporting")["room_temperature"]
    keys = collapse(home, [physics(home), feature(home, "reads off", lambda: _reads_off(home))])
    by_look, by_own = _reads_off(home)
    drift_f = keys.drift_f(hours)
    off_f = read.room_f - keys.course.set_f - drift_f - held_f(read.set_f, drift_f)
    off_f -= by_look[keys.look][:, None] + by_own[keys.own][None, :]
    set_f, doubt_f = read.set_f, 0.0
    if set_f is None:
        set_f, doubt_f = home.set_f, float(about["usual_set_f"])
    variance = (about["of_drift"] * drift_f) ** 2 + doubt_f**2
    shown = _bell(off_f, variance + about["read_f"] ** 2)
    felt = _bell(off_f, variance + about["felt_f"] ** 2)
    swapped = _bell(np.asarray(read.room_f - set_f), doubt_f**2 + about["read_f"] ** 2)
    by_feel, swap = about["felt_share"], about["swapped_share"]
    meant = (1 - by_feel) * shown + by_feel * felt
    return Said(keys, (1 - swap) * meant + swap * swapped + about["misheard"])


def merged(reports: Iterable[Reported]) -> Reported | None:
    """All that one household said, as one report: saying it twice is not twice the evidence."""
    said = list(reports)
    if not said:
        return None
    kinds = frozenset().union(*(r.kinds for r in said))
    noises = [r.noise for r in said if r.noise is not None]
    return Reported(said[0].apartment, kinds, noises[-1] if noises else None)


def _said_features(home: HomeClass, reported: Reported) -> tuple[Feature, ...]:
    """What decides how often each reported kind is spoken of, temperature aside."""
    said = tuple(
        feature(home, ("said", kind, reported.noise), lambda k=kind: _said(home, k, reported))  # type: ignore[misc]
        for kind in sorted(reported.kinds)
    )
    if Kind.NO_HOT_WATER not in reported.kinds:
        return said
    return (
        *said,
        feature(home, "tap late", lambda: (outlasts(home), np.zeros(home.shape[1]))),
    )


def _reads_off(home: HomeClass) -> tuple[Floats, Floats]:
    """By how much the thermostat shows too much: by look, by own state; they add up."""
    return home.of_rows("reads off", lambda rows: column(rows, "reads_off_f"))


def _said(home: HomeClass, kind: Kind, reported: Reported) -> tuple[Floats, Floats]:
    """Chance a day of what was said of this kind, temperature aside: by look, by own state."""
    if kind is Kind.NOISE and reported.noise is not None:
        return noise_chances(home, reported.noise)
    return steady_chances(home, kind)


def _bell(off: Floats, variance: Floats | float) -> Floats:
    """Density of a normal error; up to a factor that all share."""
    height: Floats = np.exp(-0.5 * off * off / variance) / np.sqrt(variance)
    return height
