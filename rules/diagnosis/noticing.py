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
from rules.diagnosis.keys import Feature, Keys, feature, physics
from rules.diagnosis.moment import Onset, Timeline
from rules.diagnosis.reporting import (
    OTHER_KINDS,
    THERMAL,
    left_out,
    left_out_steadily,
    noise_chances,
    steady_chances,
    steady_rates,
    thermal_chance,
    thermal_rate,
)
from rules.diagnosis.space import HomeClass
from rules.heat.columns import column, merge_column
from rules.model import Kind, Reported, RoomRead

__all__ = [
    "merged",
    "report_aside",
    "report_by_key",
    "report_features",
    "room_by_key",
    "room_features",
    "silence_by_key",
    "silence_features",
    "silence_log_total",
]

_FLOOR = 1e-9


def report_features(home: HomeClass, reported: Reported) -> tuple[Feature, ...]:
    """What the likelihood of a report depends on beside the parts of ``report_aside``."""
    return (
        physics(home),
        *(
            feature(home, ("said", kind, reported.noise), lambda k=kind: _said(home, k, reported))  # type: ignore[misc]
            for kind in sorted(reported.kinds)
        ),
    )


def report_by_key(
    home: HomeClass, keys: Keys, reported: Reported, at: datetime, onset: Onset, times: Timeline
) -> Floats:
    """Log chance of these kinds then and of no thermal report before; (look keys, own keys)."""
    hours = onset.hours(at)
    total: Floats = -thermal_rate(home, at, onset, times)[0][keys.cells]
    for kind in THERMAL:
        chance = thermal_chance(home, kind, hours)[keys.cells]
        if kind not in reported.kinds:
            total += left_out(chance)
            continue
        by_look, by_own = _said(home, kind, reported)
        spared = (1 - by_look[keys.look])[:, None] * (1 - by_own[keys.own])[None, :]
        total += np.log(np.maximum(1 - (1 - chance) * spared, _FLOOR))
    for kind in OTHER_KINDS:
        if kind in reported.kinds:
            by_look, by_own = _said(home, kind, reported)
            spared = (1 - by_look[keys.look])[:, None] * (1 - by_own[keys.own])[None, :]
            total += np.log(np.maximum(1 - spared, _FLOOR))
    return total


def report_aside(
    home: HomeClass, reported: Reported, at: datetime, onset: Onset, times: Timeline
) -> tuple[Floats, Floats]:
    """Log chance of what was left out and of no other report before: by look, by own state."""
    days = sum(waking for _, waking in times.waking_pieces(onset, at))
    days /= table("reporting")["waking_hours_a_day"]
    by_look, by_own = steady_rates(home)
    unsaid_look, unsaid_own = left_out_steadily(home, reported.kinds)
    return unsaid_look - days * by_look, unsaid_own - days * by_own


def silence_features(home: HomeClass) -> tuple[Feature, ...]:
    """What the likelihood of silence depends on."""
    return physics(home), feature(home, "steady rates", lambda: steady_rates(home))


def silence_by_key(home: HomeClass, keys: Keys, onset: Onset, times: Timeline) -> Floats:
    """Log chance that nobody of this home wrote until now; (look keys, own keys)."""
    never = table("reporting")["never_writes"]
    thermal, days = thermal_rate(home, times.now, onset, times)
    by_look, by_own = steady_rates(home)
    rate = thermal[keys.cells] + days * (by_look[keys.look][:, None] + by_own[keys.own][None, :])
    log_chance: Floats = np.log(never + (1 - never) * np.exp(-rate))
    return log_chance


def silence_log_total(home: HomeClass, log_prior: Floats, onset: Onset, times: Timeline) -> Floats:
    """The same summed over the own states with their prior, by look: log P(silence | look).

    The rate of reports is a part by physical pattern, one by look and one by own state, so the sum
    over own states is done once per pattern.
    """
    never = table("reporting")["never_writes"]
    thermal, days = thermal_rate(home, times.now, onset, times)
    by_look, by_own = steady_rates(home)
    prior = np.exp(log_prior)
    quiet = gathered(home.pattern_of_own, prior * np.exp(-days * by_own), thermal.shape[1])
    inner = np.exp(-thermal) @ quiet
    spoke_not = np.exp(-days * by_look) * inner[home.pattern_of_look]
    log_total: Floats = np.log(never * prior.sum() + (1 - never) * spoke_not)
    return log_total


def room_features(home: HomeClass) -> tuple[Feature, ...]:
    """What a told temperature depends on."""
    reads = feature(
        home,
        "reads off",
        lambda: (column(home.look_rows, "reads_off_f"), column(home.own_rows, "reads_off_f")),
    )
    return physics(home), reads


def room_by_key(home: HomeClass, keys: Keys, read: RoomRead, hours: float) -> Floats:
    """Log likelihood of a told room temperature: what the thermostat shows, or the set point.

    Needs ``read.room_f``. Shape (look keys, own keys).
    """
    assert read.room_f is not None  # noqa: S101 - that is what the caller looked for
    about = table("reporting")["room_temperature"]
    off_f = merge_column(home.look_rows[keys.look], home.own_rows[keys.own], "reads_off_f")
    shown = home.course.only(keys.cells).room_f(hours) + off_f
    set_f = home.set_f if read.set_f is None else read.set_f
    right = _bell(read.room_f, shown, about["error_f"])
    swapped = _bell(read.room_f, np.asarray(set_f), about["error_f"])
    share = about["swapped_share"]
    log_chance: Floats = np.log((1 - share) * right + share * swapped + 1e-4)
    return log_chance


def merged(reports: Iterable[Reported]) -> Reported | None:
    """All that one household said, as one report: saying it twice is not twice the evidence."""
    said = list(reports)
    if not said:
        return None
    kinds = frozenset().union(*(r.kinds for r in said))
    noises = [r.noise for r in said if r.noise is not None]
    return Reported(said[0].apartment, kinds, noises[-1] if noises else None)


def _said(home: HomeClass, kind: Kind, reported: Reported) -> tuple[Floats, Floats]:
    """Chance a day of what was said of this kind, temperature aside: by look, by own state."""
    if kind is Kind.NOISE and reported.noise is not None:
        return noise_chances(home, reported.noise)
    return steady_chances(home, kind)


def _bell(value: float, mean: Floats, width: float) -> Floats:
    height: Floats = np.exp(-0.5 * ((value - mean) / width) ** 2)
    return height
