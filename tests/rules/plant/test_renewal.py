"""Parts fitted since the building file was written."""

from __future__ import annotations

from datetime import date

from rules.model import ComponentId
from rules.plant import read_building_document, renewed

ON = date(2027, 1, 14)


def small():
    """One home on one loop."""
    plant, problems = read_building_document(
        {
            "schema": 1,
            "building": "elm-4",
            "name": "4 Elm Street",
            "timezone": "America/New_York",
            "construction": "masonry",
            "heat_sources": [
                {"id": "b", "kind": "hot_water_boiler", "control": "fixed", "hot_water": "none"}
            ],
            "transformers": [{"id": "x", "va": 40}],
            "loops": [
                {
                    "id": "l",
                    "source": "b",
                    "circulator": {"id": "p", "installed": "2010-01"},
                    "relay": {"id": "r", "transformer": "x"},
                }
            ],
            "apartments": [
                {
                    "id": "1A",
                    "floor": 1,
                    "line": "A",
                    "emitter": "fin_tube",
                    "loop": "l",
                    "zoning": "zone_valve",
                    "valve": {"kind": "motor_4wire", "transformer": "x"},
                    "thermostat": {"kind": "battery"},
                }
            ],
        }
    )
    assert plant is not None, problems
    return plant


def test_a_renewed_part_has_its_new_date_and_nothing_else_changes():
    """Each renewable component takes its new date; all others keep theirs."""
    plant = small()

    for name in ("p", "r", "x", "b", "1A.valve", "1A.thermostat"):
        after = renewed(plant, {ComponentId(name): ON})
        assert after.component(ComponentId(name)).installed == ON
        assert {c.id: c.installed for c in after.components.values() if c.id != name} == {
            c.id: c.installed for c in plant.components.values() if c.id != name
        }


def test_unknown_components_and_no_dates_change_nothing():
    """A part fitted to something the plant no longer has is ignored."""
    plant = small()

    assert renewed(plant, {}) == plant
    assert renewed(plant, {ComponentId("gone"): ON}) == plant
