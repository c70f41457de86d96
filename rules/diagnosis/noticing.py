"""What people notice and say: the chance of a report, of silence, and of a told temperature.

Theory of operation
-------------------
A report of some kinds at a time has the product of their chances then, times the chance that the other
noticeable kinds were left out, times the chance that the home had not written before. A home that could
have written and did not has the chance that nothing came in all the waking hours since the onset. Some
households never write, so silence is never proof. Left-outs and rates of what is heard or seen are sums
of a part that only the look decides and one that only the own state decides; the rest goes by keys.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

import numpy as np

from rules.data import table
from rules.diagnosis.exact import Floats, gathered
from rules.diagnosis.keys import Feature, collapse, feature, its_own, physics
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.moment import Timeline
from rules.diagnosis.reporting import (
    THERMAL,
    is_vague,
    left_out_steadily,
    made_by_temperature,
    noise_chances,
    steady_chances,
    steady_rates,
    thermal_chance,
    thermal_left_out,
    thermal_rates,
    thermal_steps,
    waking_days,
)
from rules.diagnosis.said import Said
from rules.heat.columns import column
from rules.model import Kind, Reported, RoomRead

__all__ = [
    "merged",
    "report_said",
    "room_said",
    "silence_log_totals",
    "silence_said",
]

_FLOOR = 1e-9


def report_said(home: HomeClass, reported: Reported, at: datetime, times: Timeline) -> Said:
    """A report of these kinds then, all else left out, and nothing written before."""
    name = (reported.kinds, reported.noise, at, times.onsets, times.zone)
    return home.reports.once(name, lambda: _report_said(home, reported, at, times))


def _report_said(home: HomeClass, reported: Reported, at: datetime, times: Timeline) -> Said:
    # What was left out, and that nothing else was written before: by look and by own state alone.
    days = waking_days(at, times)[:, None]
    look_rate, own_rate = steady_rates(home)
    look_unsaid, own_unsaid = left_out_steadily(home, reported.kinds)
    by_own = own_unsaid - days * own_rate
    said = _said_features(home, reported)
    aside = _own_aside(home, reported.kinds)
    keys = collapse(home, [physics(home), its_own(home), *said, aside])
    steps = thermal_steps(home, at, times)
    unsaid = -thermal_rates(home, at, times)
    for kind in THERMAL:
        if not is_vague(reported.kinds) and kind not in reported.kinds:
            unsaid = unsaid + thermal_left_out(kind, steps)
    spots = keys.spots(said)
    total = unsaid.take(spots.course, axis=1)
    for kind in sorted(reported.kinds):
        by_look, by_state = _said(home, kind, reported)
        spared = (1 - by_look[spots.look]) * (1 - by_state[spots.own])
        for thermal, share in made_by_temperature(kind).items():
            chance = thermal_chance(thermal, steps).take(spots.course, axis=1)
            spared = (1 - share * chance) * spared
        total += np.log(np.maximum(1 - spared, _FLOOR))
    by_key = total.take(spots.of_key, axis=1)
    by_key += by_own[:, None, keys.own]
    return Said.from_logs(keys, by_key, look_unsaid - days * look_rate)


def _own_aside(home: HomeClass, spoken: frozenset[Kind]) -> Feature:
    """What of one's own is left out of a report of these kinds, and how often it is spoken of."""

    def values() -> tuple[Floats, Floats]:
        by_own = np.stack([steady_rates(home)[1], left_out_steadily(home, spoken)[1]], axis=1)
        return np.zeros((home.shape[0], 1)), by_own

    return feature(home, ("own aside", spoken), values)


def silence_said(home: HomeClass, times: Timeline) -> Said:
    """Nobody of this home wrote until now."""
    steady = feature(home, "steady rates", lambda: steady_rates(home))
    keys = collapse(home, [physics(home), steady])
    never = table("reporting")["never_writes"]
    thermal = thermal_rates(home, times.now, times).take(keys.of_course, axis=1)
    days = waking_days(times.now, times)[:, None, None]
    by_look, by_own = steady_rates(home)
    rate = thermal + days * (by_look[keys.look][:, None] + by_own[keys.own][None, :])
    return Said(keys, never + (1 - never) * np.exp(-rate))


def silence_log_totals(home: HomeClass, log_priors: Floats, times: Timeline) -> Floats:
    """The same summed over the own states with their prior: log P(silence | look).

    The rate of reports is a part by physical pattern, one by look and one by own state, so the sum
    over own states is done once per pattern.

    Args:
        home: the class of some homes.
        log_priors: log P(own state) of each; (homes, own states).
        times: onsets and now.

    Returns:
        Shape (homes, onsets, looks).
    """
    # Loops of one size have classes that differ in the numbers of their candidates only.
    return home.physics.memo.once(
        ("silence", times, home.silence, log_priors.tobytes()),
        lambda: _silence_log_totals(home, log_priors, times),
    )


def _silence_log_totals(home: HomeClass, log_priors: Floats, times: Timeline) -> Floats:
    never = table("reporting")["never_writes"]
    by_look, by_own = steady_rates(home)
    days = waking_days(times.now, times)[:, None]
    unmoved = _unmoved(home, times)
    priors = np.exp(log_priors)
    alone = priors[:, None, :] * np.exp(-days * by_own)
    homes, onsets, _ = alone.shape
    rows = np.arange(homes * onsets)[:, None] * unmoved.shape[2] + home.pattern_of_own
    length = homes * onsets * unmoved.shape[2]
    quiet = gathered(rows.reshape(-1), alone.reshape(-1), length).reshape(homes, onsets, -1)
    inner = np.einsum("npq,hnq->hnp", unmoved, quiet)
    spoke_not = np.exp(-days * by_look) * inner.take(home.pattern_of_look, axis=2)
    total = never * priors.sum(axis=1)[:, None, None] + (1 - never) * spoke_not
    log_totals: Floats = np.log(total, out=total)
    return log_totals


def _unmoved(home: HomeClass, times: Timeline) -> Floats:
    """Chance that temperature made nobody write until now; (onsets, look, own patterns)."""

    def spread() -> Floats:
        courses = home.physics.courses
        return np.exp(-thermal_rates(home, times.now, times)).take(courses.of_pattern, axis=1)

    return home.physics.memo.once(("unmoved", times), spread)


def room_said(home: HomeClass, read: RoomRead, hours: Floats) -> Said:
    """A told room temperature: what the thermostat shows, or the set point.

    Needs ``read.room_f``; ``hours`` since each onset.
    """
    assert read.room_f is not None  # noqa: S101 - that is what the caller looked for
    about = table("reporting")["room_temperature"]
    keys = collapse(home, [physics(home), feature(home, "reads off", lambda: _reads_off(home))])
    by_look, by_own = _reads_off(home)
    shown = keys.course.set_f + keys.drift_f(hours)
    shown += by_look[keys.look][:, None] + by_own[keys.own][None, :]
    set_f = home.set_f if read.set_f is None else read.set_f
    right = _bell(read.room_f, shown, about["error_f"])
    swapped = _bell(read.room_f, np.asarray(set_f), about["error_f"])
    share = about["swapped_share"]
    return Said(keys, (1 - share) * right + share * swapped + 1e-4)


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
    return tuple(
        feature(home, ("said", kind, reported.noise), lambda k=kind: _said(home, k, reported))  # type: ignore[misc]
        for kind in sorted(reported.kinds)
    )


def _reads_off(home: HomeClass) -> tuple[Floats, Floats]:
    """By how much the thermostat shows too much: by look, by own state; they add up."""
    return home.of_rows("reads off", lambda rows: column(rows, "reads_off_f"))


def _said(home: HomeClass, kind: Kind, reported: Reported) -> tuple[Floats, Floats]:
    """Chance a day of what was said of this kind, temperature aside: by look, by own state."""
    if kind is Kind.NOISE and reported.noise is not None:
        return noise_chances(home, reported.noise)
    return steady_chances(home, kind)


def _bell(value: float, mean: Floats, width: float) -> Floats:
    height: Floats = np.exp(-0.5 * ((value - mean) / width) ** 2)
    return height
