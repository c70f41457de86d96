"""Which readings are still true after a repair that did not help: common practice, no source."""

from __future__ import annotations

from datetime import timedelta

import pytest
from conftest import NOW

from rules.diagnosis.after_work import outlives, shared_by, still_true
from rules.model import CheckId, ComponentId, Evidence, Found, Kind, Reported

VALVE, STAT = ComponentId("2B.valve"), ComponentId("2B.thermostat")
OPEN_WINDING = Found(CheckId("motor_ohms"), VALVE, value=1e6, unit="ohm")


@pytest.mark.parametrize(
    ("fault", "component", "stays"),
    [
        ("stat_not_calling", STAT, True),  # nobody touched the valve
        ("valve_motor_dead", VALVE, False),  # the motor that read so is in the bin
        ("valve_stuck_closed", VALVE, True),  # a stuck stem opens no winding: it spoke against it
        (None, None, True),  # nothing was found, and nothing changed
    ],
)
def test_an_open_winding_after_work(fault, component, stays):
    """Measured before it, at the valve of 2B."""
    assert outlives(OPEN_WINDING, fault, component) is stays


def test_what_one_home_has_for_itself_is_shared_by_none(plant):
    """A pump serves its loop, a thermostat its home; a name that nobody knows serves nobody."""
    pump = plant.loops[0].circulator
    assert pump is not None
    assert len(shared_by(plant, pump.id)) > 1
    assert shared_by(plant, plant.apartments[0].thermostat.id) == frozenset()
    assert shared_by(plant, "no such part") == frozenset()
    assert shared_by(plant, None) == frozenset()


@pytest.mark.parametrize(("hours", "stays"), [(2, True), (50, False)])
def test_a_sound_reading_holds_for_its_visit(plant, hours, stays):
    """A pump that ran on Thursday says nothing of a loop that goes cold on Saturday; a dead one does."""
    pump = plant.loops[0].circulator.id
    home = next(a.id for a in plant.apartments if a.loop == plant.loops[0].id)
    other = next(a.id for a in plant.apartments if a.loop != plant.loops[0].id)
    ran = Evidence("v", NOW, Found(CheckId("pump_feel"), pump, calling=True, outcome="light_hum"))
    stood = Evidence(
        "w", NOW, Found(CheckId("pump_feel"), pump, calling=True, outcome="silent_cold")
    )
    later = NOW + timedelta(hours=hours)
    told = Evidence("m", later, Reported(home, frozenset({Kind.TOO_COLD})))
    elsewhere = Evidence("n", later, Reported(other, frozenset({Kind.TOO_COLD})))

    assert (ran in still_true(plant, (ran, told))) is stays
    assert ran in still_true(plant, (ran, elsewhere))
    assert stood in still_true(plant, (stood, told))
