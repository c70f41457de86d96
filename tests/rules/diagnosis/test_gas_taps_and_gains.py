"""Gas in a steam house, what the tap says, heat that comes from outside the home."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from conftest import NOW, house, report, weather

from rules.diagnosis import Diagnosis, diagnose
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
from rules.plant import Plant
from tests.houses import built

HOME = "2B"


def water() -> Plant:
    """The house of these tests."""
    return built(house())


def steam() -> Plant:
    """The same on a steam boiler, without valves, thermostats and 24 V."""
    document = house()
    document["heat_sources"][0] |= {"kind": "steam_boiler", "hot_water": "none"}
    document["transformers"] = []
    for loop in document["loops"]:
        del loop["relay"]
    for home in document["apartments"]:
        home |= {"zoning": "none", "emitter": "cast_iron", "thermostat": {"kind": "none"}}
        del home["valve"]
    return built(document)


def said(plant: Plant, *kinds: Kind, outdoor_f: float = 25.0, **answers: str) -> Diagnosis:
    """The one home that could write reports and answers; nothing is known of the others."""
    at = NOW - timedelta(hours=20)
    evidence = [report(HOME, *kinds, hours_ago=20)]
    evidence += [
        Evidence("m", at + timedelta(minutes=5), Answered(ApartmentId(HOME), TopicId(topic), means))
        for topic, means in answers.items()
    ]
    return diagnose(plant, evidence, [Household(ApartmentId(HOME))], weather(outdoor_f), NOW)


def chances(diagnosis: Diagnosis) -> dict[str, float]:
    """By fault, at whatever component."""
    found: dict[str, float] = {}
    for group in diagnosis.groups:
        for suspect in group.suspects:
            found[suspect.fault] = found.get(suspect.fault, 0.0) + suspect.probability
    return found


@pytest.mark.parametrize("plant", [water(), steam()], ids=["water", "steam"])
def test_a_smell_of_gas_points_at_the_gas_of_whatever_boiler_there_is(plant: Plant) -> None:
    """Steam is made with gas too."""
    group = said(plant, Kind.GAS_SMELL).groups[0]

    assert (group.suspects[0].fault, group.suspects[0].component) == ("gas_leak", "boiler-1")


@pytest.mark.parametrize("plant", [water(), steam()], ids=["water", "steam"])
def test_a_carbon_monoxide_alarm_points_at_flue_and_burner(plant: Plant) -> None:
    """Flue gas that spills, a vent that is blocked."""
    group = said(plant, Kind.CO_ALARM).groups[0]

    first = {s.fault for s in group.suspects[:2]}
    assert "combustion_spill_co" in {s.fault for s in group.suspects}
    assert first & {"combustion_spill_co", "vent_blocked"}


def test_no_hot_water_at_all_is_not_water_that_crosses_over() -> None:
    """Cold water that leaks into the hot line makes it tepid (common practice, no source)."""
    out = chances(said(water(), Kind.NO_HOT_WATER, q_dhw="none"))
    tepid = chances(said(water(), Kind.NO_HOT_WATER, q_dhw="lukewarm"))

    assert out["dhw_none"] > 2 * out.get("dhw_crossover", 0.0)
    assert tepid["dhw_crossover"] > tepid.get("dhw_none", 0.0)


def steady(outdoor_f: float, now: datetime) -> list[HourlyWeather]:
    """Two days of the same weather around an instant."""
    return [HourlyWeather(now + timedelta(hours=h), outdoor_f) for h in range(-24, 25)]


def hot_water_missed(hours_ago: float, now: datetime = NOW) -> dict[str, float]:
    """Of one home's report alone in a house of twelve that could all write."""
    plant, at = water(), now - timedelta(hours=hours_ago)
    said = [Evidence("r", at, Reported(ApartmentId(HOME), frozenset({Kind.NO_HOT_WATER})))]
    people = [Household(a.id) for a in plant.apartments]
    return chances(diagnose(plant, said, people, steady(25.0, now), now))


def test_a_home_alone_without_hot_water_has_its_own_tap_to_look_at() -> None:
    """Eleven others on the tank have washed since and written nothing (common practice, no source)."""
    found = hot_water_missed(6)

    assert found["tap_keeps_hot_back"] == max(found.values())
    assert found["tap_keeps_hot_back"] > 2 * found["dhw_none"] > 0
    assert sum(found.values()) > 0.5


def test_who_finds_no_hot_water_before_the_others_are_up_may_have_found_it_first() -> None:
    """Silence of those who sleep says little; by the evening it says much (common practice)."""
    early = datetime(2027, 1, 14, 12, 0, tzinfo=UTC)  # seven in the morning there
    first_up, evening = hot_water_missed(0.5, early), hot_water_missed(3)

    assert first_up["dhw_none"] > first_up["tap_keeps_hot_back"] / 2
    assert first_up["dhw_none"] > 1.5 * evening["dhw_none"]


def test_a_manometer_without_gas_outweighs_silence_about_hot_water() -> None:
    """Four homes are cold, none speaks of its tap, and no fuel arrives at the boiler."""
    plant = water()
    cold = [report(home, "too_cold", hours_ago=3) for home in ("1A", "2C", "3A", "4B")]
    found = Found(CheckId("gas_pressure"), ComponentId("boiler-1"), 0.2, "in_wc")
    people = [Household(a.id) for a in plant.apartments]
    said = [*cold, Evidence("c", NOW, found)]
    told = chances(diagnose(plant, said, people, weather(15.0), NOW))

    assert told["gas_off"] == max(told.values())
    assert told["gas_off"] + told["fuel_out"] > 0.5


def test_the_tap_tells_the_boiler_from_the_heating_side() -> None:
    """A cold home whose tap is cold too has no boiler; one whose tap is hot has."""
    unasked = chances(said(water(), Kind.TOO_COLD))
    out = chances(said(water(), Kind.TOO_COLD, q_dhw="none"))
    fine = chances(said(water(), Kind.TOO_COLD, q_dhw="normal"))
    boiler = ("boiler_lockout", "boiler_switch_off", "high_limit_tripped", "gas_off")

    def dead(found: dict[str, float]) -> float:
        return sum(found.get(fault, 0.0) for fault in boiler)

    assert dead(out) > 0.5
    assert dead(out) > 3 * dead(unasked) > 6 * dead(fine)


def test_a_home_that_is_hot_with_a_cold_radiator_gets_its_heat_from_elsewhere() -> None:
    """In mild weather a little heat is enough; its own valve is shut, so it comes through the walls."""
    found = chances(said(water(), Kind.TOO_HOT, outdoor_f=62.0, q_hot="cold", q_down="cooling"))

    from_elsewhere = ("adjacent_heat_gain", "corridor_heat", "solar_gain", "internal_gain")
    assert found["adjacent_heat_gain"] > 0.02
    assert sum(found.get(f, 0.0) for f in from_elsewhere) > 0.3
    assert found.get("valve_open_switch_made", 0.0) < found["adjacent_heat_gain"]
