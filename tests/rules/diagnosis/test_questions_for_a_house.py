"""Which questions are worth asking, in situations that every heating technician knows."""

from __future__ import annotations

import pytest
from conftest import NOW, house, report, weather

from rules.choosing.value import OF_EACH_MINUTE_WAITED, question_values
from rules.data import table
from rules.diagnosis import diagnose
from rules.model import Answered, ApartmentId, Evidence, Household, TopicId
from tests.houses import built

WAIT = {q["id"]: q.get("wait_minutes", {}).get("fin_tube", 0) for q in table("questions")}
EFFORT = {
    q["id"]: q["effort_minutes"] + OF_EACH_MINUTE_WAITED * WAIT[q["id"]] for q in table("questions")
}


def ranked(plant, evidence, apartment, outdoor_f=22.0):
    """Topics by worth, with everybody reachable."""
    people = [Household(a.id) for a in plant.apartments]
    values = question_values(
        diagnose(plant, evidence, people, weather(outdoor_f), NOW), ApartmentId(apartment)
    )
    return sorted(values, key=lambda t: -values[t]), values


def test_one_cold_home_is_asked_about_emitter_screen_and_turning_up(plant):
    """Common practice, no source: touch, screen and turn-up tell most about one cold home."""
    topics, _ = ranked(plant, [report("3B", "too_cold", hours_ago=8)], "3B")

    assert {"q_hot", "q_up", "q_screen"} <= set(topics[:5])
    assert topics.index("q_start") > 3


def test_what_can_be_felt_now_is_asked_before_what_takes_a_wait(plant):
    """Common practice, no source: to touch the radiator takes a minute, to turn the heat up and see a
    quarter of an hour, so that comes after it."""
    topics, _ = ranked(plant, [report("3B", "too_cold", hours_ago=8)], "3B")

    assert topics[:2] == ["q_hot", "q_up"]


def test_one_hot_home_is_asked_to_turn_down(plant):
    """Common practice, no source: the turn-down check separates valve and thermostat from the rest."""
    topics, _ = ranked(plant, [report("3B", "too_hot", hours_ago=8)], "3B")

    assert topics[0] == "q_down"


@pytest.mark.parametrize("kind", ["too_cold", "too_hot", "noise", "no_hot_water", "leak"])
def test_no_answer_is_worth_less_than_nothing(plant, kind):
    """Information never costs: worth is at least minus the effort and wait, up to rounding."""
    _, values = ranked(plant, [report("3B", kind, hours_ago=3)], "3B")

    assert all(value >= -EFFORT[topic] - 1e-6 for topic, value in values.items())


def test_an_answer_that_changes_nothing_is_worth_nothing(plant):
    """Hot water says nothing about a home that is too hot, so asking costs only effort."""
    _, values = ranked(plant, [report("3B", "too_hot", hours_ago=8)], "3B")

    assert "q_dhw" not in values or values["q_dhw"] <= 0


def test_cold_taps_of_a_separate_heater_are_the_hot_water(households):
    """A heater of its own for the taps: no hot water is a hot-water fault, not the power."""
    document = house()
    document["heat_sources"][0]["hot_water"] = "separate"
    plant = built(document)
    homes = ("1A", "2B", "4C")
    evidence = [report(a, "no_hot_water", hours_ago=2) for a in homes]
    evidence += [
        Evidence(f"a_{a}", NOW, Answered(ApartmentId(a), TopicId("q_dhw"), "none")) for a in homes
    ]

    (group,) = diagnose(plant, evidence, households, weather(), NOW).groups

    assert group.suspects[0].fault.startswith("dhw_")
    assert group.suspects[0].component == "boiler-1"
