"""Parts fitted since the building file was written."""

from __future__ import annotations

from datetime import date

from rules.faults.candidates import local_candidates
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


def test_a_new_head_stands_on_a_body_as_old_as_before():
    """A head is changed without draining; the body under it is the old one (common practice)."""
    fitted = date(2009, 5, 1)
    home = a_home(
        1, "A", valve={"kind": "motor_4wire", "transformer": "xf-1", "installed": "2009-05-01"}
    )
    plant, valve = built(a_house([home], [a_loop()])), ComponentId("1A.valve")

    head = renewed(plant, {valve: ON}, {valve: fitted}).apartments[0].valve
    body = renewed(plant, {valve: ON}).apartments[0].valve

    assert head is not None
    assert body is not None
    assert (head.installed, head.body_since) == (ON, fitted)
    assert (body.installed, body.body_since) == (ON, ON)
    assert renewed(plant, {valve: ON}, {valve: None}).apartments[0].valve.body_since is None


def test_what_is_the_bodys_wears_on_under_a_new_head():
    """A drip at the stem is as likely as before; a dead motor is not."""
    old = {"kind": "motor_4wire", "transformer": "xf-1", "installed": "2009-05-01"}
    plant, valve = built(a_house([a_home(1, "A", valve=old)], [a_loop()])), ComponentId("1A.valve")
    after = renewed(plant, {valve: ON}, {valve: plant.apartments[0].valve.installed})

    def chance(of, fault):
        found = local_candidates(of, of.apartments[0], ON)
        return next(c.prior for c in found if c.fault == fault)

    assert chance(after, "valve_body_leak") == chance(plant, "valve_body_leak")
    assert chance(after, "valve_motor_dead") < 0.5 * chance(plant, "valve_motor_dead")
    assert chance(renewed(plant, {valve: ON}), "valve_body_leak") < chance(plant, "valve_body_leak")
