"""Whom a fault of a transformer, of pressure or of balance reaches, and how, in a house of this kind."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from rules.faults.candidates import Candidate, local_candidates, shared_candidates
from rules.heat.columns import COLUMN
from rules.model import ComponentId, FaultId
from rules.plant import Plant
from tests.houses import a_home, a_house, a_loop, a_valve, built, places

ON = date(2027, 1, 14)


def plant(*, valve_on: str = "xf-1", va: float = 100.0, floors: int = 2, **of_loop: Any) -> Plant:
    """Homes above each other on one loop whose relay hangs on xf-2, boiler with fixed water."""
    homes = [a_home(*at, valve=a_valve(valve_on, va=7)) for at in places(floors, "ABC")]
    if of_loop.get("piping") == "series":
        for place, made in enumerate(homes):
            made["position"] = place
    pump = a_loop(transformer="xf-2", **of_loop)
    return built(a_house(homes, [pump], transformers=("xf-1", "xf-2"), va=va))


def found(house: Plant, fault: str, component: str) -> Candidate | None:
    """The fault at that component, if it can be there."""
    return next(
        (
            c
            for c in shared_candidates(house, ON)
            if (c.fault, c.component) == (FaultId(fault), ComponentId(component))
        ),
        None,
    )


def flags(candidate: Candidate, home: str) -> tuple[bool, bool]:
    """Whether the valve of a home has lost its volts, and the relay of its loop."""
    chain = candidate.chain_of(next(h for h in candidate.homes if h == home))
    return bool(chain[COLUMN["no_power"]]), bool(chain[COLUMN["relay_dead"]])


def test_the_transformer_of_the_valves_leaves_the_relay_alive():
    """Common practice, no source: a circuit dies with the transformer that feeds it, not beside it."""
    house = plant()
    of_valves, of_relay = found(house, "fuse_blown", "xf-1"), found(house, "fuse_blown", "xf-2")

    assert of_valves is not None
    assert of_relay is not None
    assert flags(of_valves, "1A") == (True, False)
    assert flags(of_relay, "1A") == (False, True)


def test_one_transformer_for_both_takes_both_down():
    """Valve and relay on one transformer lose their volts together."""
    of_both = found(plant(valve_on="xf-2"), "transformer_dead", "xf-2")

    assert of_both is not None
    assert flags(of_both, "2C") == (True, True)


@pytest.mark.parametrize(("va", "times"), [(100, 0.3), (50, 3.0), (40, 20.0)])
def test_an_overload_is_arithmetic_before_it_is_a_suspicion(va, times):
    """Six valves of 7 VA: 42 on 100 is within the margin, on 50 past four fifths, on 40 past its plate.

    At most four fifths of the nameplate is common practice, no source; the multiples are ours.
    """
    known = found(plant(va=va), "transformer_overloaded", "xf-1")
    stated = found(plant(va=va), "low_voltage_short", "xf-1")

    assert known is not None
    assert stated is not None
    assert known.prior / stated.prior == pytest.approx(times * 1.0 / 0.3)  # rates of the two rows


def test_short_pressure_is_felt_on_the_highest_floor():
    """1 psi lifts water by 2.31 ft: what is missing is missing at the top (a published trade column)."""
    short = found(plant(floors=4), "fill_low_pressure", "boiler-1")

    assert short is not None
    assert short.homes == {"4A", "4B", "4C"}


def test_a_series_run_that_climbs_to_the_top_stops_as_a_whole():
    """One pipe through home after home carries nothing once it stands empty at one of them."""
    house = plant(floors=2, piping="series")
    short = found(house, "fill_low_pressure", "boiler-1")

    assert short is not None
    assert short.homes == {a.id for a in house.apartments}


def test_one_pipe_through_all_homes_has_no_branches_to_balance():
    """Balancing valves stand in branches; a loop of branches can be out of balance, a series run not."""
    assert found(plant(piping="floors"), "balance_error", "loop-1") is not None
    assert found(plant(piping="series"), "balance_error", "loop-1") is None


def test_nothing_freezes_in_spring():
    """The threshold is 20 F outdoors (a university's building research council)."""
    house = plant()
    frozen = next(
        c for c in local_candidates(house, house.apartments[0], ON) if c.fault == "frozen_section"
    )

    assert frozen.is_there_at(10)
    assert not frozen.is_there_at(45)
