"""One episode before anybody answers: building, days, what breaks, who writes because of what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .breakdowns import Case, draw_case
from .house import House, build_house
from .people import CHANNELS, Complaint, Households, hazards, households, let_them_write
from .plants import Made, random_building
from .weather import STEPS_PER_HOUR, Days, random_days
from .world import World, simulate

__all__ = ["Drawn", "draw"]

Floats = NDArray[np.float64]

HOURS = 90
_SETTLED = 24 * STEPS_PER_HOUR
_BREAKS = (_SETTLED, _SETTLED + 12 * STEPS_PER_HOUR)
_SECOND_BREAKS = (_SETTLED, _SETTLED + 24 * STEPS_PER_HOUR)
_LAST_FIRST_TEXT = (HOURS - 19) * STEPS_PER_HOUR
# Shares of episodes: people and sun only, one thing broken, two things broken.
_PEOPLE_ONLY, _TWO = 0.15, 0.25
_TRIES = 200
_FELT_BEFORE = 6 * STEPS_PER_HOUR
_IDLE_RATE = 3e-4  # chances an hour below this are nobody's fault


@dataclass(frozen=True)
class Drawn:
    """What is true in an episode; ``causes`` has the numbers of the cases behind each complaint."""

    seed: int
    made: Made
    house: House
    days: Days
    cases: tuple[Case, ...]
    world: World
    people: Households
    complaints: tuple[Complaint, ...]
    causes: tuple[frozenset[int], ...]
    end: int
    silent_draws: int

    @property
    def heard_cases(self) -> list[int]:
        """Numbers of the cases that somebody complains of."""
        return sorted(frozenset().union(*self.causes)) if self.causes else []


def draw(seed: int) -> Drawn:
    """Draw buildings and breakdowns until somebody complains of one.

    Raises:
        RuntimeError: nobody complained in very many draws, which is a fault of the simulation.
    """
    rng = np.random.default_rng([seed, 20270114])
    for silent in range(_TRIES):
        drawn = _attempt(rng, seed, silent)
        if drawn is not None:
            return drawn
    raise RuntimeError(f"seed {seed}: {_TRIES} draws and no complaint")


def _attempt(rng: np.random.Generator, seed: int, silent: int) -> Drawn | None:
    made = random_building(rng)
    days = random_days(rng, HOURS)
    house = build_house(rng, made.plant, made.topology)
    cases = _cases(rng, made, days)
    # Copy 0 is what happens; then each case alone, to know whose complaint is whose; then none.
    world = simulate(house, days, [cases, *[(c,) for c in cases], ()])
    people = households(rng, len(house.names))
    said = let_them_write(rng, world, people, start=_SETTLED, end=days.steps)
    if not said or said[0].step > _LAST_FIRST_TEXT:
        return None
    end = said[0].step + int(rng.uniform(4, 18) * STEPS_PER_HOUR)
    said = [c for c in said if c.step <= end]
    causes = tuple(_causes(world, c, cases) for c in said)
    if not any(causes):
        return None
    return Drawn(seed, made, house, days, cases, world, people, tuple(said), causes, end, silent)


def _cases(rng: np.random.Generator, made: Made, days: Days) -> tuple[Case, ...]:
    kind = rng.random()
    if kind < _PEOPLE_ONLY:
        return (draw_case(rng, made.plant, days, group="occupant", steps=_BREAKS),)
    first = draw_case(rng, made.plant, days, group="equipment", steps=_BREAKS)
    if kind < 1 - _TWO:
        return (first,)
    second = draw_case(rng, made.plant, days, group="equipment", steps=_SECOND_BREAKS)
    if second.component == first.component:
        return (first,)
    return (first, second)


def _causes(world: World, complaint: Complaint, cases: Sequence[Case]) -> frozenset[int]:
    """The cases that alone make this complaint at least three times as likely as nothing does."""
    if complaint.felt is None:
        return frozenset()
    # Over the hours before, because a healthy thermostat swings a little as well.
    before = range(max(complaint.step - _FELT_BEFORE, 0), complaint.step + 1, 4)
    rate = _rates(world, complaint, before)
    able = _able(rate)
    if able or float(rate[0]) <= 3 * _base(rate):
        return able
    # Alone a case may do the same a little later: a tank empties by when it was last heated.
    until = min(complaint.step + _FELT_BEFORE, world.days.steps - 1)
    around = _rates(world, complaint, range(before.start, until + 1, 4))
    begun = {n for n, case in enumerate(cases) if case.step <= complaint.step}
    return _able(around) & begun or frozenset(range(len(cases)))  # only both together


def _rates(world: World, complaint: Complaint, steps: range) -> Floats:
    """Mean chance an hour of what the home felt, by copy of the world."""
    assert complaint.felt is not None  # chatter has no cause to look for
    channel = CHANNELS.index(complaint.felt)
    each = [hazards(world, step)[:, complaint.home, channel] for step in steps]
    return np.asarray(np.mean(each, axis=0))


def _base(rate: Floats) -> float:
    return max(float(rate[-1]), _IDLE_RATE)


def _able(rate: Floats) -> frozenset[int]:
    alone = rate[1:-1]
    return frozenset(int(k) for k in np.flatnonzero(alone > 3 * _base(rate)))
