"""Where a check can be made, and where what was read may be noted."""

from __future__ import annotations

import pytest

from rules.checks.places import doing_at, fits_at, places_of
from rules.faults.catalogue import checks, faults
from rules.model import CheckId, ComponentId
from rules.plant import Plant
from tests.houses import a_home, a_house, a_loop, built, places


def house(**of_loop: str) -> Plant:
    """Three floors of two lines on one loop, with valves, thermostats, a relay and a transformer."""
    return built(a_house([a_home(*at) for at in places(3, "AB")], [a_loop(**of_loop)]))


@pytest.mark.parametrize(
    ("check", "component", "fits"),
    [
        # Common practice, no source: only pumps have run capacitors, only valves end switches.
        ("cap_uf", "1A.thermostat", False),
        ("cap_uf", "xf-1", False),
        ("cap_uf", "pump-1", True),
        ("end_switch_lifted", "relay-1", False),
        ("sec_volts", "1A", False),
        ("flame_signal", "1A.valve", False),
        ("window_look", "boiler-1", False),
        # What belongs to something may be noted there.
        ("pump_volts", "loop-1", True),
        ("motor_volts", "1A", True),
        ("room_probe", "1A", True),
        ("pipe_temps", "1A.valve", True),
        # Carbon monoxide is measured in the home too, a breaker is any part's.
        ("ambient_co", "1A", True),
        ("switch_breaker", "pump-1", True),
        # A riser only for what is done at risers.
        ("pipe_temps", "loop-1.riser-A", True),
        ("loop_dt", "loop-1.riser-A", False),
    ],
)
def test_a_reading_belongs_where_its_check_can_be_made(
    check: str, component: str, fits: bool
) -> None:
    """Impossible pairs are told from loose wording."""
    assert fits_at(house(), checks()[CheckId(check)], ComponentId(component)) is fits


def test_every_check_fits_where_it_is_made() -> None:
    """At its own kind of component, wherever the house has one."""
    plant = house()
    for check in checks().values():
        own = [c.id for c in plant.components.values() if c.kind.value == check.at]
        assert own, check.id
        assert all(fits_at(plant, check, place) for place in own), check.id
        assert set(places_of(plant, check, ComponentId("1A"))) == set(own)


def test_the_nearest_place_is_named_first() -> None:
    """Whoever noted a valve's reading at a thermostat is pointed to that home's valve."""
    plant, check = house(), checks()[CheckId("motor_volts")]

    assert places_of(plant, check, ComponentId("2B.thermostat"))[0] == "2B.valve"


def test_a_check_at_a_loop_with_risers_says_where_one_of_them_is_noted() -> None:
    """Only where the loop has risers, and only for what is done at risers."""
    handles, drop = checks()[CheckId("valve_handles")], checks()[CheckId("loop_dt")]
    at = ComponentId("loop-1")

    assert "loop-1.riser-A" in doing_at(house(), handles, at)
    assert doing_at(house(piping="floors"), handles, at) == handles.do
    assert doing_at(house(), drop, at) == drop.do


def test_what_a_ticket_asks_for_is_taken_where_it_asks_for_it() -> None:
    """A check that a row wants made at its own component, say the pump of the tank, fits there."""
    plant = house()
    by_kind = {c.kind.value: c.id for c in plant.components.values()}
    wanted = {(r.check, f.at) for f in faults().values() for r in f.checks if r.at_own}

    assert wanted
    assert [w for w in wanted if not fits_at(plant, checks()[w[0]], by_kind[w[1]])] == []
