"""Sparks and a burning smell: dead first, then a look; a part that is scorched is named.

Common practice, no source: nothing is energised, or measured live, before it is known what burnt.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from rules.checks import LIVE, order_checks
from rules.checks.worksheet import worksheet
from rules.diagnosis import Diagnosis, diagnose
from rules.faults.catalogue import checks
from rules.faults.telling import is_listed
from rules.model import (
    ApartmentId,
    CheckId,
    ComponentId,
    Evidence,
    Found,
    HourlyWeather,
    Household,
    Kind,
    Reported,
)
from rules.plant import Plant
from tests.houses import a_boiler, a_home, a_house, a_loop, built, places

NOW = datetime(2027, 1, 14, 23, 0, tzinfo=UTC)
SCORCHED = CheckId("scorch_look")
# Measured, or looked at, with the breaker off: the look itself, ohms, switches, the air.
WITHOUT_POWER = {SCORCHED, "short_hunt", "motor_ohms", "coil_ohms", "switch_breaker", "ambient_co"}


@pytest.fixture(scope="module")
def plant() -> Plant:
    """Six homes with zone valves on one loop and one boiler."""
    homes = [a_home(*at) for at in places(3, "AB")]
    return built(a_house(homes, [a_loop()], sources=[a_boiler()]))


def told(plant: Plant, kinds: list[Kind], *found: str) -> Diagnosis:
    """One home says so; what a look for scorched parts has shown there since."""
    report = Reported(ApartmentId("1A"), frozenset(kinds))
    evidence = [Evidence("m", NOW - timedelta(hours=3), report)]
    evidence += [
        Evidence(f"f{n}", NOW, Found(SCORCHED, ComponentId("1A"), outcome=word))
        for n, word in enumerate(found)
    ]
    people = [Household(ApartmentId(a.id)) for a in plant.apartments]
    return diagnose(plant, evidence, people, [HourlyWeather(NOW, 25.0)], NOW)


@pytest.mark.parametrize(
    "kinds",
    [[Kind.ELECTRICAL], [Kind.SMOKE], [Kind.ELECTRICAL, Kind.TOO_COLD, Kind.NO_HOT_WATER]],
)
def test_until_it_has_been_looked_at_nothing_needs_power(plant: Plant, kinds: list[Kind]) -> None:
    """Here and on the phone, whatever else the home complains of."""
    diagnosis = told(plant, kinds)
    (group,) = diagnosis.groups

    steps = order_checks(diagnosis, group)

    names = [step.check for step in steps]
    assert names[0] == ("ambient_co" if Kind.SMOKE in kinds else SCORCHED)
    assert SCORCHED in names[:2]
    assert len(names) >= 3
    assert set(names) <= WITHOUT_POWER
    assert all(LIVE not in step.caution.lower() for step in steps)
    off = worksheet(diagnosis, group.apartments)["power_off"]
    assert sorted(off["checks"]) == sorted(f"{s.check} {s.component}" for s in steps)


def test_the_look_says_dead_first_and_who_goes_in_before(plant: Plant) -> None:
    """Breaker off and proven dead; where it smokes, the fire department."""
    step = order_checks(told(plant, [Kind.ELECTRICAL]), told(plant, [Kind.ELECTRICAL]).groups[0])[0]

    assert step.do.startswith("Breaker off and proven dead")
    assert "fire department goes in first" in step.before
    assert "switched on again" in step.caution


@pytest.mark.parametrize(
    ("word", "component"),
    [
        ("at_valve", "1A.valve"),
        ("at_thermostat", "1A.thermostat"),
        ("at_relay", "relay-1"),
        ("at_transformer", "xf-1"),
        ("at_pump", "pump-1"),
    ],
)
def test_a_scorched_part_is_where_the_trouble_is(plant: Plant, word: str, component: str) -> None:
    """Before the look no part holds a third; after it that part leads, and live checks are on again."""
    before, after = (told(plant, [Kind.ELECTRICAL], *seen) for seen in ((), (word,)))

    assert dict(before.groups[0].components).get(component, 0.0) < 1 / 3
    name, chance = after.groups[0].components[0]
    assert (name, chance > 0.5) == (component, True)
    assert {s.check for s in order_checks(after, after.groups[0])} - WITHOUT_POWER


def test_sparks_have_suspects_and_are_mostly_not_the_heatings(plant: Plant) -> None:
    """Something else, an outlet or an appliance, stays likelier than any part of the plant."""
    (group,) = told(plant, [Kind.ELECTRICAL]).groups

    assert len(group.suspects) >= 3
    assert group.unknown > max(s.probability for s in group.suspects)


def test_nothing_scorched_is_nothing_of_the_plant(plant: Plant) -> None:
    """What is left is what burns elsewhere, or dust and plugs of the home's own."""
    (group,) = told(plant, [Kind.ELECTRICAL], "nothing_scorched").groups

    of_the_plant = [s for s in group.suspects if s.component != "1A"]
    assert sum(s.probability for s in of_the_plant) < 0.1


def test_it_has_no_name_outside() -> None:
    """The trade's list of tests does not have it."""
    assert not is_listed(SCORCHED)
    assert checks()[SCORCHED].about == (Kind.ELECTRICAL, Kind.SMOKE)
