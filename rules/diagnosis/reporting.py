"""How often homes speak of what physics and parts do to them: rates of reports by look, own, pattern.

Theory of operation
-------------------
Each kind of complaint has a chance within a waking day. Some of it follows temperature (by how many
degrees the room is off), the rest is what a fault's row says is heard, seen or smelt. Separate causes
combine by noisy-or, so their rates add: a part by physical pattern and hour, a part by look, a part by
own state. Temperature enters through a table of small steps, because it is looked up for thousands of
states at dozens of hours.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import cache

import numpy as np

from rules.data import table
from rules.diagnosis.exact import Floats, Indices
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.moment import Timeline
from rules.diagnosis.physics import Courses
from rules.heat.columns import Rows, column
from rules.model import Kind, Noise

__all__ = [
    "OTHER_KINDS",
    "THERMAL",
    "as_chance",
    "as_rate",
    "is_vague",
    "left_out",
    "left_out_steadily",
    "made_by_temperature",
    "noise_chances",
    "steady_chances",
    "steady_rates",
    "tank_rates",
    "thermal_chance",
    "thermal_left_out",
    "thermal_rates",
    "thermal_steps",
    "waking_days",
]

THERMAL = {Kind.TOO_COLD: "cold_under_f", Kind.TOO_HOT: "hot_over_f"}
_SEEN_AS = {
    Kind.LEAK: "leak_seen",
    Kind.GAS_SMELL: "gas_noticed",
    Kind.CO_ALARM: "co_noticed",
    Kind.SMOKE: "smoke_noticed",
    Kind.ELECTRICAL: "sparks_noticed",
}
OTHER_KINDS = (Kind.NO_HOT_WATER, Kind.NOISE, *_SEEN_AS, Kind.OTHER)
# Tenants' words for a noise are wrong this often (common practice, no source).
_NOISE_WORD_ERROR = 0.35
# and this often they give no word that says which noise it is (common practice, no source).
_NO_WORD = 0.4
_CERTAIN = 0.999
_PER_F = 250  # steps of a degree in the tables of chances: so few stay in the processor's cache
_REACH_F = 30  # beyond the last points of these tables nothing changes
_WHOLE = 1.5 * 2.0**52
_WHOLE_BITS = np.float64(_WHOLE).view(np.int64)


def thermal_rates(courses: Courses, until: datetime, times: Timeline) -> Floats:
    """Expected reports by temperature from each onset to an instant; (onsets, courses)."""
    hours, waking = times.waking_pieces(until)
    rates = _rate_by_step().take(_step(courses.off(hours.reshape(-1), _PER_F)), mode="clip")
    weight = waking / table("reporting")["waking_hours_a_day"]
    total: Floats = np.einsum("np,npc->nc", weight, rates.reshape(*hours.shape, -1))
    return total


def waking_days(until: datetime, times: Timeline) -> Floats:
    """Waking time from each onset to an instant, in days; (onsets,)."""
    days: Floats = times.waking_pieces(until)[1].sum(axis=1)
    return days / float(table("reporting")["waking_hours_a_day"])


def thermal_steps(home: HomeClass, at: datetime, times: Timeline) -> Indices:
    """Where each course is at an instant, for the tables below; (onsets, courses)."""
    return _step(home.physics.courses.off(times.hours(at), _PER_F))


def thermal_chance(kind: Kind, steps: Indices) -> Floats:
    """Chance within a day that temperature makes a home say so."""
    return _chance_by_step(kind).take(steps, mode="clip")


def thermal_left_out(kind: Kind, steps: Indices) -> Floats:
    """Log chance that what temperature makes of this kind is not spoken of."""
    return _left_out_by_step(kind).take(steps, mode="clip")


def steady_rates(home: HomeClass) -> tuple[Floats, Floats]:
    """Reports a day of all that does not change with temperature: by look, by own state.

    What nobody causes counts with the look.
    """
    kinds = (*THERMAL, *OTHER_KINDS)

    def add() -> tuple[Floats, Floats]:
        by_look, by_own = _rates(home, kinds)
        return by_look + sum(_rate_of_nobody(kind) for kind in kinds), by_own

    return home.once("steady rates", add)


def tank_rates(home: HomeClass) -> Floats:
    """The part of these that taps make which a tank keeps hot for a while; (looks,)."""

    def rates(rows: Rows) -> Floats:
        return column(rows, "tap_late") * _rate_of_rows(rows, Kind.NO_HOT_WATER)

    return home.of_rows("tank rates", rates)[0]


def steady_chances(home: HomeClass, kind: Kind) -> tuple[Floats, Floats]:
    """Chance a day that a kind is spoken of whatever the temperature: by look, by own state."""

    def convert() -> tuple[Floats, Floats]:
        by_look, by_own = _rates(home, (kind,))
        return as_chance(by_look + _rate_of_nobody(kind)), as_chance(by_own)

    return home.once(("steady chances", kind), convert)


def noise_chances(home: HomeClass, noise: Noise) -> tuple[Floats, Floats]:
    """Chance a day of a noise told with this word: by look, by own state; words are often wrong."""

    def combine() -> tuple[Floats, Floats]:
        base = table("reporting")["without_cause"]["noise"] / len(Noise)
        by_look, by_own = home.of_rows(("noise", noise), lambda rows: _worded(rows, noise))
        return 1 - (1 - by_look) * (1 - base), by_own

    return home.once(("noise", noise), combine)


def is_vague(spoken: frozenset[Kind]) -> bool:
    """Whether nothing definite was said: then nothing that was noticed was left out."""
    return spoken == {Kind.OTHER}


def made_by_temperature(kind: Kind) -> Mapping[Kind, float]:
    """What of temperature's doing may be told as this kind, and how often it is."""
    if kind is Kind.OTHER:
        return dict.fromkeys(THERMAL, _vague())
    return {kind: 1.0} if kind in THERMAL else {}


def _vague() -> float:
    return float(table("reporting")["says_nothing_definite"])


def left_out_steadily(home: HomeClass, spoken: frozenset[Kind]) -> tuple[Floats, Floats]:
    """Log chance that all kinds but those spoken of were left out: by look, by own state."""

    def add() -> tuple[Floats, Floats]:
        if is_vague(spoken):
            return np.zeros(home.shape[0]), np.zeros(home.shape[1])
        parts = [steady_chances(home, k) for k in (*THERMAL, *OTHER_KINDS) if k not in spoken]
        by_look = np.sum([left_out(p[0]) for p in parts], axis=0)
        return by_look, np.sum([left_out(p[1]) for p in parts], axis=0)

    return home.once(("left out", spoken), add)


def left_out(chance: Floats) -> Floats:
    """Log chance that a noticeable thing is not spoken of by a household that writes."""
    leaves_out = table("reporting")["leaves_out"]
    log_chance: Floats = np.log1p(-np.minimum(chance, _CERTAIN) * (1 - leaves_out))
    return log_chance


def as_rate(chance: Floats) -> Floats:
    """Events a day from the chance of at least one."""
    rate: Floats = -np.log1p(-np.minimum(chance, _CERTAIN))
    return rate


def as_chance(rate: Floats) -> Floats:
    """The opposite."""
    chance: Floats = -np.expm1(-rate)
    return chance


def _step(off: Floats) -> Indices:
    """The nearest step; beyond the tables the ends count: they are read with mode="clip"."""
    # Doubles from 2^52 on are whole numbers, which their last bits hold: far quicker than a cast.
    off += _WHOLE + _REACH_F * _PER_F
    steps: Indices = off.view(np.int64)
    steps -= _WHOLE_BITS
    return steps


@cache
def _chance_by_step(kind: Kind) -> Floats:
    """Chance within a day by steps off the set point, from far under to far over."""
    off_f = np.arange(-_REACH_F * _PER_F, _REACH_F * _PER_F + 1) / _PER_F
    points = np.array(table("reporting")[THERMAL[kind]])
    signed = -off_f if kind is Kind.TOO_COLD else off_f
    chance: Floats = np.interp(signed, points[:, 0], points[:, 1])
    return chance


@cache
def _rate_by_step() -> Floats:
    rate: Floats = np.sum([as_rate(_chance_by_step(kind)) for kind in THERMAL], axis=0)
    return rate


@cache
def _left_out_by_step(kind: Kind) -> Floats:
    return left_out(_chance_by_step(kind))


def _rate_of_nobody(kind: Kind) -> float:
    """Reports a day of a kind that nothing causes."""
    base = float(table("reporting")["without_cause"].get(kind.value, 0.0))
    return float(as_rate(np.asarray(base)))


def _rates(home: HomeClass, kinds: Sequence[Kind]) -> tuple[Floats, Floats]:
    """Reports a day of some kinds by what rows say: by look, by own state."""
    spoken = table("reporting")["dark_screen_spoken_of"]
    dark = float(spoken) if home.powered_thermostat and Kind.OTHER in kinds else 0.0

    def add(rows: Rows) -> Floats:
        told: Floats = np.sum([_rate_of_rows(rows, kind) for kind in kinds], axis=0)
        return told + as_rate(column(rows, "no_power") * dark)

    return home.of_rows(("rates", kinds), add)


def _rate_of_rows(rows: Rows, kind: Kind) -> Floats:
    said = table("reporting")["tap_spoken_of"]
    if kind in THERMAL:
        return as_rate(column(rows, "cold_felt" if kind is Kind.TOO_COLD else "heat_felt"))
    if kind is Kind.NOISE:
        noises: Floats = np.sum([as_rate(column(rows, f"noise_{n.value}")) for n in Noise], axis=0)
        return noises
    if kind is Kind.NO_HOT_WATER:
        cold, lukewarm = column(rows, "tap_cold"), column(rows, "tap_lukewarm")
        tap = cold * said["cold"] + (1 - cold) * lukewarm * said["lukewarm"]
        return as_rate(tap) + as_rate(column(rows, "tap_noticed"))
    if kind in _SEEN_AS:
        return as_rate(column(rows, _SEEN_AS[kind]))
    too_hot = column(rows, "tap_too_hot") * said["too_hot"]
    definite = [_rate_of_rows(rows, k) for k in (*THERMAL, *OTHER_KINDS) if k is not Kind.OTHER]
    vague: Floats = _vague() * np.sum(definite, axis=0)
    return as_rate(column(rows, "other_noticed")) + as_rate(too_hot) + vague


def _worded(rows: Rows, noise: Noise) -> Floats:
    any_noise = np.sum([column(rows, f"noise_{n.value}") for n in Noise], axis=0)
    if noise is Noise.OTHER:
        vague: Floats = np.minimum(column(rows, "noise_other") + _NO_WORD * any_noise, 1.0)
        return vague
    about = table("reporting")["noise_taken_for"]
    like = [
        column(rows, f"noise_{other.value}") / len(about["like"][other.value])
        for other in Noise
        if noise.value in about["like"][other.value]
    ]
    wrong = (1 - about["share"]) * any_noise / len(Noise) + about["share"] * sum(like)
    right = (1 - _NOISE_WORD_ERROR) * column(rows, f"noise_{noise.value}")
    chance: Floats = np.minimum(right + _NOISE_WORD_ERROR * wrong, 1.0)
    return chance
