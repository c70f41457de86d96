"""Boilers side by side and single pipes behave in the simulated world as the trade says they do."""

from __future__ import annotations

import numpy as np
import pytest

from tests.houses import a_bare_home, a_boiler, a_house, a_loop, built

from .conftest import case, lived, off_at_end
from .house import House, build_house


@pytest.fixture(scope="session")
def side_by_side(plain) -> House:
    """The plain house with two boilers on one header."""
    given = plain.plant.document()
    (first,) = given["heat_sources"]
    given["heat_sources"] = [{**first, "id": f"boiler-{n}", "cascade": "both"} for n in (1, 2)]
    return build_house(np.random.default_rng(3), built(given), "four_wire")


@pytest.fixture(scope="session")
def one_pipe(plain) -> House:
    """Six homes on one pipe, without valves or thermostats, behind a boiler that follows the weather."""
    homes = [a_bare_home(a.floor, a.line, emitter="cast_iron") for a in plain.plant.apartments]
    source = a_boiler(control="outdoor_reset", hot_water="indirect")
    pipe = a_loop(transformer=None, piping="series")
    plant = built(a_house(homes, [pipe], sources=[source], transformers=()))
    return build_house(np.random.default_rng(3), plant, "series")


def test_one_of_two_boilers_out_is_felt_only_in_the_cold(side_by_side):
    """Half of 1.3 times the design load carries a mild day and not the design day."""
    dead = case("boiler_lockout", "boiler-2")
    mild, cold = (lived(side_by_side, f, dead) for f in (45.0, 5.0))
    assert min(off_at_end(mild, home) for home in side_by_side.names) > -1.0
    assert min(off_at_end(cold, home) for home in side_by_side.names) < -3.0


def test_what_two_boilers_share_stops_both(side_by_side):
    """Without gas neither fires, whatever the weather."""
    world = lived(side_by_side, 45.0, case("gas_off", "both"))
    assert max(off_at_end(world, home) for home in side_by_side.names) < -3.0


def test_a_single_pipe_is_balanced_while_nothing_is_wrong(one_pipe):
    """The last home is as warm as the first, in mild weather and in the cold."""
    for outdoor_f in (15.0, 50.0):
        rooms = lived(one_pipe, outdoor_f).air[-96:, 0].mean(axis=0) - one_pipe.set_f
        assert np.abs(rooms).max() < 2.5


def test_a_narrow_place_on_a_single_pipe_starves_the_last_home_most(one_pipe):
    """Little water is cold before it comes there: heat balance of a stream that gives off heat."""
    blocked = case("series_upstream_blocked", "1B", "1B", path=0.15)
    falls = [-off_at_end(lived(one_pipe, 25.0, blocked), home) for home in one_pipe.names]
    assert falls[-1] > falls[0] + 3.0
    assert falls[-1] > 8.0
