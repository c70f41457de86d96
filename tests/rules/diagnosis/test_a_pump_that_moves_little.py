"""A pump that runs and moves little water, by the readings of a visit (common practice, no source)."""

from __future__ import annotations

from conftest import NOW, house, report, weather

from rules.diagnosis import diagnose
from rules.model import CheckId, ComponentId, Evidence, Found, Household, Kind
from tests.houses import built

READ = (
    ("pump_feel", "pump-2", "light_hum"),
    ("pump_dp", "pump-2", "near_zero"),
    ("emitter_temps", "3B", "lukewarm"),
    ("pipe_temps", "3B", "outlet_follows_call"),
    ("lever_feel", "3B.valve", "firm"),
    ("purge_flow", "loop-2", "solid_water"),
)


def test_no_pressure_from_a_humming_pump_and_lukewarm_emitters_are_its_impeller() -> None:
    """The valve follows its call, but little comes: nothing at the home itself explains the pump."""
    plant = built(house())
    found = [
        Evidence(check, NOW, Found(CheckId(check), ComponentId(at), outcome=word, calling=True))
        for check, at, word in READ
    ]
    amps = Found(CheckId("pump_amps"), ComponentId("pump-2"), value=0.31, unit="A", calling=True)
    evidence = [report("3B", Kind.TOO_COLD, hours_ago=4), *found, Evidence("amps", NOW, amps)]
    homes = [Household(a.id) for a in plant.apartments]

    first = diagnose(plant, evidence, homes, weather(41.0), NOW).groups[0].suspects[0]

    assert (first.fault, first.component) == ("pump_impeller_failed", "pump-2")
    assert first.probability > 0.8
