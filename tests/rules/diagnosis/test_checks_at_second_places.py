"""The same check at another part is another measurement."""

from __future__ import annotations

import pytest
from conftest import NOW, house, report, weather

from rules.checks import order_checks
from rules.checks.places import is_made
from rules.diagnosis import diagnose
from rules.faults.catalogue import checks
from rules.model import (
    Answered,
    ApartmentId,
    CheckId,
    ComponentId,
    Evidence,
    Found,
    Household,
    TopicId,
)
from tests.houses import built

COLD = ("2B", "4B")


@pytest.fixture(scope="module")
def tower():
    """Six floors, three lines, one loop."""
    return built(house(6, "ABC", 1))


def proposed(tower, *found):
    """Where each check is proposed for two cold homes of one line, and more readings."""
    said = [report(home, "too_cold", hours_ago=9) for home in COLD]
    said += [
        Evidence(f"hot_{home}", NOW, Answered(ApartmentId(home), TopicId("q_hot"), "cold"))
        for home in COLD
    ]
    said += [Evidence(f"finding:t_{n}", NOW, fact) for n, fact in enumerate(found)]
    people = [Household(a.id) for a in tower.apartments]
    diagnosis = diagnose(tower, said, people, weather(), NOW)
    return {
        (step.check, step.component)
        for group in diagnosis.groups
        for step in order_checks(diagnosis, group)
    }


def test_a_thermostat_looked_at_leaves_the_other_to_be_looked_at(tower):
    """Good settings at 2B say nothing of 4B's; the check is gone here and still proposed there."""
    check = CheckId("stat_settings")
    both = {(check, ComponentId(f"{home}.thermostat")) for home in COLD}
    assert both <= proposed(tower)

    good = Found(check, ComponentId("2B.thermostat"), outcome="heat_as_agreed")
    after = proposed(tower, good)

    assert (check, "2B.thermostat") not in after
    assert (check, "4B.thermostat") in after


def test_what_is_noted_under_the_loop_is_made_at_its_pump():
    """Who writes the pump's amps under the loop has measured them there, and not at the other pump."""
    plant = built(house())
    check = checks()[CheckId("pump_amps")]
    noted = [Found(check.id, ComponentId("loop-1"), value=0.7, unit="A", calling=True)]

    assert is_made(plant, check, ComponentId("pump-1"), noted)
    assert not is_made(plant, check, ComponentId("pump-2"), noted)
    assert not is_made(plant, checks()[CheckId("pump_volts")], ComponentId("pump-1"), noted)
