"""Steady weather and a plain house for tests of the simulated world."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from tests.houses import a_boiler, a_home, a_house, a_loop, a_valve, built, places

from .breakdowns import Case, breakdowns
from .house import House, build_house
from .weather import STEPS_PER_HOUR, Days
from .world import World, simulate

HOURS = 72


def steady(outdoor_f: float, hours: int = HOURS) -> Days:
    """The same temperature all day, no sun."""
    steps = hours * STEPS_PER_HOUR
    start = datetime(2027, 1, 14, 5, 0, tzinfo=UTC)
    return Days(start, np.full(steps, outdoor_f), np.zeros(steps))


@pytest.fixture(scope="session")
def plain() -> House:
    """Six homes on two loops by floor, four-wire valves, one transformer a loop."""
    plant = built(
        a_house(
            [
                a_home(floor, line, on=floor, valve=a_valve(f"xf-{floor}", va=7.0))
                for floor, line in places(2, "ABC")
            ],
            [a_loop(n, transformer=f"xf-{n}") for n in (1, 2)],
            sources=[a_boiler(hot_water="indirect")],
            transformers=("xf-1", "xf-2"),
            va=75,
        )
    )
    return build_house(np.random.default_rng(3), plant, "four_wire")


def case(fault: str, component: str, home: str | None = None, step: int = 96, **amounts) -> Case:
    """A breakdown with the middle of its severities, or with the ones given."""
    row = breakdowns()[fault]
    middle = {
        k: sum(v) / 2 if isinstance(v, list) and k != "off_hours" else v
        for k, v in row.acts.items()
    }
    return Case(row, component, home, {**middle, **amounts}, step)


def lived(house: House, outdoor_f: float, *cases: Case) -> World:
    """Copy 0 with the cases, copy 1 with none."""
    return simulate(house, steady(outdoor_f), [cases, ()])


def off_at_end(world: World, home: str) -> float:
    """Mean of the last day: how much warmer the home is than in a healthy building, F."""
    n = world.house.names.index(home)
    return float((world.air[-96:, 0, n] - world.air[-96:, 1, n]).mean())
