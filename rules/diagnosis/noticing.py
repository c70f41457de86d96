"""What people notice and say: the chance of a report, of silence, and of a told temperature.

Theory of operation
-------------------
Each kind of complaint has a chance within a day that grows with what physics says is wrong. A report
of some kinds has the product of their chances, times a chance that the other noticeable kinds were
left out. A home that could have written and did not has the chance of nobody speaking, in
proportion to the hours its people were awake since the trouble became known.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from rules.data import table
from rules.diagnosis.exact import Floats
from rules.diagnosis.space import HomeClass
from rules.model import Kind, Noise, Reported, RoomRead

__all__ = ["any_report", "report_log_likelihood", "room_log_likelihood", "silence_log_likelihood"]

_THERMAL = {Kind.TOO_COLD: "cold_under_f", Kind.TOO_HOT: "hot_over_f"}
_MODELLED = (Kind.TOO_COLD, Kind.TOO_HOT, Kind.NO_HOT_WATER, Kind.NOISE, Kind.LEAK, Kind.OTHER)
# Tenants' words for a noise are wrong this often (common practice, no source).
_NOISE_WORD_ERROR = 0.35
_FLOOR = 1e-9


def _curve(points: Sequence[Sequence[float]], at: Floats) -> Floats:
    x, y = np.array(points).T
    chance: Floats = np.interp(at, x, y)
    return chance


def _noisy_or(*chances: Floats | float) -> Floats:
    spared: Floats | float = 1.0
    for chance in chances:
        spared = spared * (1 - chance)
    return np.asarray(1 - spared)


def _kind_chance(home: HomeClass, kind: Kind) -> Floats:
    """Chance within a day that this kind is spoken of, over patterns and own states."""
    about = table("reporting")
    base = about["without_cause"]
    if kind in _THERMAL:
        off_f = home.room.room_f - home.set_f
        cold = kind is Kind.TOO_COLD
        felt = home.columns("cold_felt" if cold else "heat_felt")
        return _noisy_or(_curve(about[_THERMAL[kind]], -off_f if cold else off_f), felt)
    if kind is Kind.NO_HOT_WATER:
        said = about["tap_spoken_of"]
        tap = np.maximum.reduce(
            [
                home.columns("tap_cold") * said["cold"],
                home.columns("tap_lukewarm") * said["lukewarm"],
            ]
        )
        return _noisy_or(base["no_hot_water"], tap, home.columns("tap_noticed"))
    if kind is Kind.LEAK:
        return _noisy_or(base["leak"], home.columns("leak_seen"))
    if kind is Kind.NOISE:
        return _noisy_or(base["noise"], *(home.columns(f"noise_{n.value}") for n in Noise))
    return _noisy_or(
        base["other"],
        home.columns("other_noticed"),
        home.columns("tap_too_hot") * about["tap_spoken_of"]["too_hot"],
    )


def _noise_chance(home: HomeClass, noise: Noise) -> Floats:
    """Chance that a noise is told with this word; words are often wrong."""
    base = table("reporting")["without_cause"]["noise"] / len(Noise)
    by_word = [home.columns(f"noise_{n.value}") for n in Noise]
    mixed = (1 - _NOISE_WORD_ERROR) * home.columns(f"noise_{noise.value}")
    return _noisy_or(base, mixed + _NOISE_WORD_ERROR * sum(by_word) / len(Noise))


def report_log_likelihood(home: HomeClass, reported: Reported) -> Floats:
    """Log chance of these kinds and no other, shape (patterns, own states)."""
    leaves_out = table("reporting")["leaves_out"]
    total: Floats = np.zeros(home.room.room_f.shape)
    for kind in _MODELLED:
        chance = _kind_chance(home, kind)
        if kind in reported.kinds:
            if kind is Kind.NOISE and reported.noise is not None:
                chance = _noise_chance(home, reported.noise)
            total += np.log(np.maximum(chance, _FLOOR))
        else:
            total += np.log1p(-np.minimum(chance, 0.999) * (1 - leaves_out))
    return total


def any_report(home: HomeClass) -> Floats:
    """Chance that the household writes about anything within a day."""
    return _noisy_or(*(_kind_chance(home, kind) for kind in _MODELLED))


def silence_log_likelihood(home: HomeClass, awake_hours: float) -> Floats:
    """Log chance that nobody wrote in that many waking hours, shape (patterns, own states)."""
    spoken = 1 - np.exp(-awake_hours / table("reporting")["hours_to_write"])
    log_chance: Floats = np.log1p(-np.minimum(any_report(home) * spoken, 0.999))
    return log_chance


def room_log_likelihood(home: HomeClass, read: RoomRead) -> Floats:
    """Log likelihood of a told room temperature: what the thermostat shows, or the set point."""
    if read.room_f is None:
        return np.zeros(home.room.room_f.shape)
    about = table("reporting")["room_temperature"]
    shown = home.room.room_f + home.columns("reads_off_f")
    set_f = home.set_f if read.set_f is None else read.set_f
    right = _bell(read.room_f, shown, about["error_f"])
    swapped = _bell(read.room_f, np.asarray(set_f), about["error_f"])
    share = about["swapped_share"]
    log_chance: Floats = np.log((1 - share) * right + share * swapped + 1e-4)
    return log_chance


def _bell(value: float, mean: Floats, width: float) -> Floats:
    height: Floats = np.exp(-0.5 * ((value - mean) / width) ** 2)
    return height


def merged(reports: Iterable[Reported]) -> Reported | None:
    """All that one household said, as one report: saying it twice is not twice the evidence."""
    said = list(reports)
    if not said:
        return None
    kinds = frozenset().union(*(r.kinds for r in said))
    noises = [r.noise for r in said if r.noise is not None]
    return Reported(said[0].apartment, kinds, noises[-1] if noises else None)
