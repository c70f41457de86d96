"""What people notice and say: the chance of a report, of silence, and of a told temperature.

Theory of operation
-------------------
Each kind of complaint has a chance within a day that grows with what physics says is wrong at that
moment, hence a rate per waking hour. A report of some kinds at a time has the product of their chances
then, times a chance that the other noticeable kinds were left out, times the chance that the home had
not written before. A home that could have written and did not has the chance that nothing came in all
the waking hours since the onset. Some households never write, so silence is never proof.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime

import numpy as np

from rules.data import table
from rules.diagnosis.exact import Floats
from rules.diagnosis.moment import Onset, Timeline
from rules.diagnosis.space import HomeClass
from rules.heat.columns import Rows, column
from rules.model import Kind, Noise, Reported, RoomRead

__all__ = [
    "merged",
    "report_log_likelihood",
    "room_log_likelihood",
    "silence_log_likelihood",
    "silence_log_total",
]

_THERMAL = {Kind.TOO_COLD: "cold_under_f", Kind.TOO_HOT: "hot_over_f"}
_SEEN_AS = {
    Kind.LEAK: "leak_seen",
    Kind.GAS_SMELL: "gas_noticed",
    Kind.CO_ALARM: "co_noticed",
    Kind.SMOKE: "smoke_noticed",
    Kind.ELECTRICAL: "sparks_noticed",
}
_OTHER_KINDS = (Kind.NO_HOT_WATER, Kind.NOISE, *_SEEN_AS, Kind.OTHER)
# Tenants' words for a noise are wrong this often (common practice, no source).
_NOISE_WORD_ERROR = 0.35
_FLOOR = 1e-9


def report_log_likelihood(
    home: HomeClass, reported: Reported, at: datetime, onset: Onset, times: Timeline
) -> Floats:
    """Log chance of these kinds, and no other, then and not before; (looks, own states)."""
    hours = onset.hours(at)
    total = _none_spoken_of(home) - _rate_so_far(home, at, onset, times)
    for kind in (*_THERMAL, *_OTHER_KINDS):
        if kind in reported.kinds:
            chance = _chance(home, kind, hours)
            said = chance
            if kind is Kind.NOISE and reported.noise is not None:
                said = _noise_chance(home, reported.noise)
            total += np.log(np.maximum(said, _FLOOR))
            if kind in _OTHER_KINDS:
                total -= _left_out(chance)
        elif kind in _THERMAL:
            total += _left_out(_chance(home, kind, hours))
    return total


def _left_out(chance: Floats) -> Floats:
    """Log chance that a noticeable kind is not spoken of by a household that writes."""
    leaves_out = table("reporting")["leaves_out"]
    log_chance: Floats = np.log1p(-np.minimum(chance, 0.999) * (1 - leaves_out))
    return log_chance


def _none_spoken_of(home: HomeClass) -> Floats:
    """The same for all kinds that temperature has nothing to do with, together."""
    return _once(
        home,
        "none spoken of",
        lambda: np.sum([_left_out(_chance(home, kind, 0.0)) for kind in _OTHER_KINDS], axis=0),
    )


def silence_log_likelihood(home: HomeClass, onset: Onset, times: Timeline) -> Floats:
    """Log chance that nobody of this home wrote until now; (looks, own states)."""
    never = table("reporting")["never_writes"]
    log_chance: Floats = np.log(
        never + (1 - never) * np.exp(-_rate_so_far(home, times.now, onset, times))
    )
    return log_chance


def silence_log_total(home: HomeClass, log_prior: Floats, onset: Onset, times: Timeline) -> Floats:
    """The same summed over the own states with their prior, by look: log P(silence | look).

    The rate of reports is a part by physical pattern, one by look and one by own state, so the sum
    over own states is done once per pattern.
    """
    never = table("reporting")["never_writes"]
    thermal, days = _thermal_rate(home, times.now, onset, times)
    by_look, by_own = _steady_rates(home)
    prior = np.exp(log_prior)
    quiet = np.zeros(thermal.shape[1])
    np.add.at(quiet, home.pattern_of_own, prior * np.exp(-days * by_own))
    inner = np.exp(-thermal) @ quiet
    spoke_not = np.exp(-days * by_look) * inner[home.pattern_of_look]
    log_total: Floats = np.log(never * prior.sum() + (1 - never) * spoke_not)
    return log_total


def room_log_likelihood(home: HomeClass, read: RoomRead, hours: float) -> Floats:
    """Log likelihood of a told room temperature: what the thermostat shows, or the set point."""
    if read.room_f is None:
        return np.zeros(home.shape)
    about = table("reporting")["room_temperature"]
    shown = home.spread(home.course.room_f(hours)) + home.columns("reads_off_f")
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


def _rate_so_far(home: HomeClass, until: datetime, onset: Onset, times: Timeline) -> Floats:
    """Expected number of reports from the onset until then, of any kind; (looks, own states)."""
    thermal, days = _thermal_rate(home, until, onset, times)
    by_look, by_own = _steady_rates(home)
    return np.asarray(home.spread(thermal) + days * (by_look[:, None] + by_own[None, :]))


def _thermal_rate(
    home: HomeClass, until: datetime, onset: Onset, times: Timeline
) -> tuple[Floats, float]:
    """Expected reports by temperature so far, over physical patterns, and the waking days."""
    a_day = table("reporting")["waking_hours_a_day"]
    pieces = times.waking_pieces(onset, until)
    rate = np.zeros(home.course.final_f.shape)
    for hours, waking in pieces:
        room_f = home.course.room_f(hours)
        for kind in _THERMAL:
            rate += _as_rate(_thermal_chance(home, kind, room_f)) * waking / a_day
    return rate, sum(waking for _, waking in pieces) / a_day


def _steady_rates(home: HomeClass) -> tuple[Floats, Floats]:
    """Reports a day of what does not change with temperature: by look, by own state."""
    kinds = (*_THERMAL, *_OTHER_KINDS)
    parts = [_kind_rates(home, kind) for kind in kinds]
    by_look = _once(home, "steady by look", lambda: np.sum([p[0] for p in parts], axis=0))
    by_own = _once(home, "steady by own", lambda: np.sum([p[1] for p in parts], axis=0))
    return by_look, by_own


def _kind_rates(home: HomeClass, kind: Kind) -> tuple[Floats, Floats]:
    """Reports a day of one kind whatever the temperature; what nobody causes counts with the look.

    Chances of separate causes combine by noisy-or, so their rates add.
    """
    base = np.asarray(float(table("reporting")["without_cause"].get(kind.value, 0.0)))
    by_look = _once(
        home,
        ("look", kind),
        lambda: _as_rate(base) + _rate_of_rows(home.look_rows, kind),
    )
    return by_look, _once(home, ("own", kind), lambda: _rate_of_rows(home.own_rows, kind))


def _rate_of_rows(rows: Rows, kind: Kind) -> Floats:
    said = table("reporting")["tap_spoken_of"]
    if kind in _THERMAL:
        return _as_rate(column(rows, "cold_felt" if kind is Kind.TOO_COLD else "heat_felt"))
    if kind is Kind.NOISE:
        noises: Floats = np.sum([_as_rate(column(rows, f"noise_{n.value}")) for n in Noise], axis=0)
        return noises
    if kind is Kind.NO_HOT_WATER:
        cold = column(rows, "tap_cold") * said["cold"]
        tap = np.maximum(cold, column(rows, "tap_lukewarm") * said["lukewarm"])
        return _as_rate(tap) + _as_rate(column(rows, "tap_noticed"))
    if kind in _SEEN_AS:
        return _as_rate(column(rows, _SEEN_AS[kind]))
    too_hot = column(rows, "tap_too_hot") * said["too_hot"]
    return _as_rate(column(rows, "other_noticed")) + _as_rate(too_hot)


def _once(home: HomeClass, name: object, compute: Callable[[], Floats]) -> Floats:
    """A derived array of a class, computed the first time it is wanted."""
    if name not in home.memo:
        home.memo[name] = compute()
    return home.memo[name]


def _as_rate(chance: Floats) -> Floats:
    rate: Floats = -np.log1p(-np.minimum(chance, 0.999))
    return rate


def _thermal_chance(home: HomeClass, kind: Kind, room_f: Floats) -> Floats:
    """Chance within a day from temperature alone, over physical patterns."""
    off_f = room_f - home.set_f
    points = np.array(table("reporting")[_THERMAL[kind]])
    signed = -off_f if kind is Kind.TOO_COLD else off_f
    chance: Floats = np.interp(signed, points[:, 0], points[:, 1])
    return chance


def _chance(home: HomeClass, kind: Kind, hours: float) -> Floats:
    """Chance within a day that this kind is spoken of; (looks, own states)."""
    by_look, by_own = _kind_rates(home, kind)
    steady = _once(home, ("chance", kind), lambda: -np.expm1(-(by_look[:, None] + by_own[None, :])))
    if kind not in _THERMAL:
        return steady
    thermal = home.spread(_thermal_chance(home, kind, home.course.room_f(hours)))
    return np.asarray(1 - (1 - thermal) * (1 - steady))


def _noises(home: HomeClass) -> list[Floats]:
    return [home.columns(f"noise_{n.value}") for n in Noise]


def _noise_chance(home: HomeClass, noise: Noise) -> Floats:
    """Chance that a noise is told with this word; words are often wrong."""
    base = table("reporting")["without_cause"]["noise"] / len(Noise)
    any_word = np.sum(_noises(home), axis=0) / len(Noise)
    right = (1 - _NOISE_WORD_ERROR) * home.columns(f"noise_{noise.value}")
    return _noisy_or(base, np.minimum(right + _NOISE_WORD_ERROR * any_word, 1.0))


def _noisy_or(*chances: Floats | float) -> Floats:
    spared: Floats | float = 1.0
    for chance in chances:
        spared = spared * (1 - np.asarray(chance))
    return np.asarray(1 - spared)


def _bell(value: float, mean: Floats, width: float) -> Floats:
    height: Floats = np.exp(-0.5 * ((value - mean) / width) ** 2)
    return height
