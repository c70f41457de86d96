"""Simulated households: what they feel and hear, when they write, and what they write first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from rules.model import Kind, Noise

from .breakdowns import Case
from .weather import STEPS_PER_HOUR
from .world import World

__all__ = [
    "CHANNELS",
    "CHATTER_A_DAY",
    "WRONG_KIND",
    "Complaint",
    "Households",
    "hazards",
    "households",
    "let_them_write",
    "reach_of",
]

Floats = NDArray[np.float64]

CHANNELS = (Kind.TOO_COLD, Kind.TOO_HOT, Kind.NO_HOT_WATER, Kind.NOISE, Kind.LEAK, Kind.OTHER)
# Chance to write within a day by degrees off the wish; the points at 4, 8 and 10 F are common
# practice, no source, the rest is drawn through them by hand.
_COLD = ((0.5, 0.0), (2, 0.12), (4, 0.5), (8, 0.8), (14, 0.95))
_HOT = ((1.0, 0.0), (2.5, 0.1), (4, 0.3), (10, 0.6), (18, 0.85))
_AWAKE, _ASLEEP = 1.4, 0.15
_TAP_A_DAY = {1: 0.55, 2: 0.4, 3: 0.4}
_CARRIES = {"apartment": 1.0, "loop": 0.4, "building": 0.12, "top": 1.0}
# People who write although nothing new is wrong: about one home in two hundred a day (own guess).
CHATTER_A_DAY = 0.005
WRONG_KIND, _NOISE_WORD_WRONG = 0.02, 0.35
_SAYS_SECOND = 0.4
_REACHABLE = 0.85


@dataclass(frozen=True)
class Households:
    """Who can be reached, and how readily each home writes."""

    reachable: NDArray[np.bool_]
    readiness: Floats


@dataclass(frozen=True)
class Complaint:
    """The first text of one home; ``felt`` is what it was really about, None for no new cause."""

    home: int
    step: int
    kinds: frozenset[Kind]
    noise: Noise | None
    felt: Kind | None


def households(rng: np.random.Generator, homes: int) -> Households:
    """Draw the people of a building; at least two homes can be reached."""
    reachable = rng.random(homes) < _REACHABLE
    reachable[rng.choice(homes, 2, replace=False)] = True
    return Households(reachable, rng.lognormal(-0.08, 0.4, homes))


def hazards(world: World, step: int) -> Floats:
    """Chance per hour to write, over copies, homes and channels, at the readiness of most."""
    off = world.air[step] - world.wish_f(step)
    shape = off.shape
    heard, drips = _noise_and_leaks(world)
    tap = np.array([_TAP_A_DAY.get(int(t), 0.0) for t in world.tap(step)])
    is_hot_tap = world.tap(step) == 3
    daily = np.stack(
        [
            _curve(_COLD, -off),
            _curve(_HOT, off),
            np.broadcast_to(np.where(is_hot_tap, 0.0, tap)[:, None], shape),
            heard,
            drips,
            np.broadcast_to(np.where(is_hot_tap, tap, 0.0)[:, None], shape),
        ],
        axis=-1,
    )
    hour = world.days.hour(step)
    awake = _AWAKE if 7 <= hour < 23 else _ASLEEP
    return -np.log1p(-np.minimum(daily, 0.97)) / 24 * awake


def _curve(points: Sequence[tuple[float, float]], at: Floats) -> Floats:
    x, y = zip(*points, strict=True)
    return np.interp(at, x, y)


@lru_cache(maxsize=4)
def _noise_and_leaks(world: World) -> tuple[Floats, Floats]:
    """Chance within a day to speak of a noise or a leak; it does not change with the hour."""
    shape = world.air.shape[1:]
    heard, drips = np.zeros(shape), np.zeros(shape)
    for b, copy in enumerate(world.copies):
        for case in copy:
            reach = reach_of(world, case)
            loud = sum(case.row.heard.values()) * _CARRIES[case.row.carries]
            heard[b, reach] = 1 - (1 - heard[b, reach]) * (1 - loud)
            if case.row.drips:
                wet = reach if case.home is not None else [case.step % shape[1]]
                drips[b, wet] = case.row.drips
    return heard, drips


def reach_of(world: World, case: Case) -> list[int]:
    """Homes that hear a breakdown."""
    house = world.house
    if case.home is not None:
        own = house.names.index(str(case.home))
        if case.row.carries == "loop":
            return [int(k) for k in np.flatnonzero(house.loop == house.loop[own])]
        return [own]
    if case.row.carries == "loop":
        part = house.plant.component(case.component)
        loop = house.loop_names.index(part.loop or part.id)
        return [int(k) for k in np.flatnonzero(house.loop == loop)]
    if case.row.carries == "top":
        return [int(k) for k in np.flatnonzero(house.is_top)]
    return list(range(len(house.names)))


def let_them_write(
    rng: np.random.Generator, world: World, people: Households, *, start: int, end: int
) -> list[Complaint]:
    """First texts of the homes in copy 0 between two steps, in order of time."""
    homes = len(world.house.names)
    silent = np.ones(homes, dtype=bool)
    said: list[Complaint] = []
    for step in range(start, end):
        rate = hazards(world, step)[0] * people.readiness[:, None] / STEPS_PER_HOUR
        chatter = CHATTER_A_DAY / 24 / STEPS_PER_HOUR
        total = rate.sum(axis=1) + chatter
        for home in np.flatnonzero((rng.random(homes) < total) & silent & people.reachable):
            silent[home] = False
            is_chatter = rng.random() < chatter / total[home]
            said.append(_first_text(rng, world, int(home), step, rate[home], is_chatter))
    return said


def _first_text(
    rng: np.random.Generator, world: World, home: int, step: int, rate: Floats, is_chatter: bool
) -> Complaint:
    if is_chatter:
        return Complaint(home, step, frozenset({Kind.TOO_COLD}), None, None)
    channel = int(rng.choice(len(CHANNELS), p=rate / rate.sum()))
    kinds = {CHANNELS[channel]}
    for other, value in enumerate(rate):
        if other != channel and value > 0.01 / STEPS_PER_HOUR and rng.random() < _SAYS_SECOND:
            kinds.add(CHANNELS[other])
    if rng.random() < WRONG_KIND:
        kinds = {Kind.OTHER}
    noise = _word(rng, world, home) if Kind.NOISE in kinds else None
    return Complaint(home, step, frozenset(kinds), noise, CHANNELS[channel])


def _word(rng: np.random.Generator, world: World, home: int) -> Noise:
    """The right word for the noise, or often another one."""
    words = [
        word for case in world.copies[0] if home in reach_of(world, case) for word in case.row.heard
    ]
    if rng.random() < _NOISE_WORD_WRONG or not words:
        return Noise(str(rng.choice([n.value for n in Noise])))
    return Noise(words[0])
