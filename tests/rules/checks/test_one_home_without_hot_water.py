"""One home's hot water: a tap of its own, a crossover in the house, or the tank.

Common practice, no source: with the tank's outlet shut a hot tap that still runs gets cold water from
somewhere; all taps tepid is no cartridge of one of them.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from rules.checks import order_checks
from rules.checks.worksheet import worksheet
from rules.diagnosis import Diagnosis, diagnose
from rules.faults.catalogue import checks
from rules.model import (
    Answered,
    ApartmentId,
    CheckId,
    ComponentId,
    Evidence,
    Found,
    HourlyWeather,
    Household,
    Kind,
    Reported,
    TopicId,
)
from tests.houses import a_boiler, a_home, a_house, a_loop, built, places

NOW = datetime(2027, 1, 14, 23, 0, tzinfo=UTC)
HOME = ApartmentId("2A")


def told(*readings: tuple[str, str, str], kind: Kind = Kind.NO_HOT_WATER) -> Diagnosis:
    """One of twelve homes on a tank has lukewarm water; words found at places since."""
    homes = [a_home(*at) for at in places(4, "ABC")]
    plant = built(a_house(homes, [a_loop()], sources=[a_boiler(hot_water="indirect")]))
    evidence = [
        Evidence("m", NOW - timedelta(hours=3), Reported(HOME, frozenset({kind}))),
        Evidence("a", NOW - timedelta(hours=2), Answered(HOME, TopicId("q_dhw"), "lukewarm")),
    ]
    evidence += [
        Evidence(f"f{n}", NOW, Found(CheckId(check), ComponentId(at), outcome=word))
        for n, (check, at, word) in enumerate(readings)
    ]
    people = [Household(ApartmentId(a.id)) for a in plant.apartments]
    return diagnose(plant, evidence, people, [HourlyWeather(NOW, 25.0)], NOW)


def chances(diagnosis: Diagnosis) -> dict[str, float]:
    """Chance by fault."""
    (group, *_) = diagnosis.groups
    return {str(s.fault): s.probability for s in group.suspects}


def made(diagnosis: Diagnosis) -> list[str]:
    """Its checks in their order."""
    return [str(s.check) for s in order_checks(diagnosis, diagnosis.groups[0])]


def test_it_begins_at_the_taps_of_that_home() -> None:
    """Not with the boiler's gauge, which eleven other homes vouch for."""
    assert made(told())[0] in {"hot_taps_look", "dhw_temp"}


def test_a_hot_tap_that_runs_on_without_its_tank_is_a_crossover() -> None:
    """The tank is hot, every tap of the home tepid, and its hot tap runs though the tank is shut off."""
    before = told(("dhw_temp", "boiler-1", "tap_tepid_tank_hot"))
    after = told(
        ("dhw_temp", "boiler-1", "tap_tepid_tank_hot"),
        ("hot_taps_look", "2A", "all_tepid"),
        ("crossover_look", "2A", "runs_on"),
    )

    assert {"hot_taps_look", "crossover_look"} & set(made(before))
    assert chances(after)["dhw_crossover"] > 0.9


def test_one_tap_alone_is_that_tap() -> None:
    """The shower is tepid, the kitchen as hot as the tank."""
    after = told(
        ("dhw_temp", "boiler-1", "tap_tepid_tank_hot"), ("hot_taps_look", "2A", "one_tap_alone")
    )

    assert chances(after)["tap_keeps_hot_back"] > 0.9


def test_what_the_technician_finds_right_at_tank_and_taps_leaves_nothing_to_change() -> None:
    """Neither a crossover nor a cartridge is likely any more."""
    after = chances(
        told(
            ("dhw_temp", "boiler-1", "tank_and_tap_right"),
            ("hot_taps_look", "2A", "all_hot"),
            ("crossover_look", "2A", "stops"),
        )
    )

    assert after.get("dhw_crossover", 0.0) < 0.05
    assert after.get("tap_keeps_hot_back", 0.0) < 0.2


@pytest.mark.parametrize("name", ["hot_taps_look", "crossover_look"])
def test_nobody_shuts_the_hot_water_off_for_a_cold_room(name: str) -> None:
    """They are made for hot water alone, travel with its ticket, and stand in no list of others."""
    cold = worksheet(told(kind=Kind.TOO_COLD), [HOME])
    water = worksheet(told(), [HOME])

    assert name not in {check["check"] for check in cold["checks"]}
    assert name in {check["check"] for check in water["checks"]}
    assert not checks()[CheckId(name)].listed
