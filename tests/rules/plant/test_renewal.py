"""Parts fitted since the building file was written."""

from __future__ import annotations

from datetime import date

from rules.model import ComponentId
from rules.plant import renewed
from tests.houses import a_home, a_house, a_loop, built

ON = date(2027, 1, 14)


def small():
    """One home on one loop."""
    pump = {"id": "pump-1", "installed": "2010-01"}
    return built(a_house([a_home(1, "A")], [a_loop(circulator=pump)]))


def test_a_renewed_part_has_its_new_date_and_nothing_else_changes():
    """Each renewable component takes its new date; all others keep theirs."""
    plant = small()

    for name in ("pump-1", "relay-1", "xf-1", "boiler-1", "1A.valve", "1A.thermostat"):
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
