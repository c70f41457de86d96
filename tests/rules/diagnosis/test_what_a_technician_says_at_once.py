"""What a heating technician says at once of a single message (common practice, no source)."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from conftest import house, weather
from vignette_houses import house as made_up

from rules.diagnosis import Group, diagnose
from rules.model import (
    Answered,
    ApartmentId,
    Evidence,
    Fact,
    Household,
    Kind,
    Noise,
    Reported,
    RoomRead,
    TopicId,
)
from rules.plant import Plant
from tests.houses import built

EVENING = datetime(2026, 1, 15, 23, 0, tzinfo=UTC)  # 18:00 local time
JULY = datetime(2026, 7, 15, 16, 0, tzinfo=UTC)


def ticket(
    plant: Plant, *facts: Fact, outdoor_f: float, now: datetime = EVENING, hours_ago: float = 2
) -> Group:
    """The first ticket of homes that wrote at one time."""
    at = now - timedelta(hours=hours_ago)
    evidence = [Evidence(f"m{n}", at, fact) for n, fact in enumerate(facts)]
    homes = [Household(a.id) for a in plant.apartments]
    return diagnose(plant, evidence, homes, weather(outdoor_f, now), now).groups[0]


def of_fault(group: Group, *faults: str) -> float:
    """Chance of some faults, at whatever component."""
    return sum(s.probability for s in group.suspects if s.fault in faults)


def says(home: str, *kinds: Kind, noise: Noise | None = None) -> Reported:
    return Reported(ApartmentId(home), frozenset(kinds), noise)


def answers(home: str, topic: str, means: str) -> Answered:
    return Answered(ApartmentId(home), TopicId(topic), means)


def reads(home: str, room_f: float | None, set_f: float) -> RoomRead:
    return RoomRead(ApartmentId(home), room_f, set_f)


@pytest.fixture(scope="module")
def plant() -> Plant:
    return built(house())


@pytest.mark.parametrize("room_f", [80.0, None])
def test_too_hot_and_set_to_80_does_what_it_is_told(plant: Plant, room_f: float | None) -> None:
    """Whoever is too hot by a fault has turned it down."""
    told = ticket(plant, says("2B", Kind.TOO_HOT), reads("2B", room_f, 80), outdoor_f=40)

    assert told.suspects[0].fault == "expectation_set_point"


def test_too_hot_and_set_to_66_is_a_fault(plant: Plant) -> None:
    told = ticket(plant, says("2B", Kind.TOO_HOT), reads("2B", 78, 66), outdoor_f=40)

    assert of_fault(told, "expectation_set_point") < 0.05


def test_cold_and_set_to_62_is_the_setting(plant: Plant) -> None:
    """It is set low, follows a schedule or is locked: nothing that a part mends."""
    told = ticket(plant, says("2B", Kind.TOO_COLD), reads("2B", 62, 62), outdoor_f=30)

    setting = ("expectation_set_point", "stat_schedule_or_hold", "stat_limit_locked")
    assert of_fault(told, *setting) > 0.5


def test_cold_and_turned_up_to_80_says_nothing_for_the_setting(plant: Plant) -> None:
    told = ticket(plant, says("2B", Kind.TOO_COLD), reads("2B", 61, 80), outdoor_f=30)

    assert of_fault(told, "expectation_set_point") < 0.02


def test_a_leak_upstairs_is_not_in_the_boiler_room(plant: Plant) -> None:
    """Only who goes down there sees what drips there."""
    told = ticket(plant, says("3B", Kind.LEAK), outdoor_f=30)

    chances = dict(told.components)
    assert chances.get("boiler-1", 0.0) < chances["3B.valve"] / 5


def test_an_outage_darkens_no_thermostat_on_batteries() -> None:
    """Two dark screens among four cold homes do not make one; what the plant feeds is all dark."""
    document = house()
    cold = [says(home, Kind.TOO_COLD) for home in ("1A", "2B", "3C", "4A")]
    dark = [answers(home, "q_screen", "blank") for home in ("1A", "2B", "3C", "4A")]
    on_batteries = ticket(built(document), *cold, *dark[:2], outdoor_f=25)
    for home in document["apartments"]:
        home["thermostat"]["kind"] = "powered"
    fed = ticket(built(document), *cold, *dark, outdoor_f=25)

    assert of_fault(on_batteries, "power_outage") < 0.05
    assert of_fault(fed, "power_outage", "transformer_dead", "fuse_blown") > 0.5


def test_the_sun_is_told_of_by_day() -> None:
    """At eight on a January evening it is dark, and what the walls kept is gone."""
    plant = made_up("steam")
    home = plant.apartments[0].id
    evening, noon = (
        of_fault(
            ticket(plant, says(home, Kind.TOO_HOT), outdoor_f=40, now=now, hours_ago=0.25),
            "solar_gain",
        )
        for now in (EVENING + timedelta(hours=2), EVENING - timedelta(hours=4))
    )

    assert evening < noon / 3


def test_a_hum_is_no_tick(plant: Plant) -> None:
    """A sound is taken for its like: a valve hums, and pipes that tick are not called humming."""
    told = ticket(
        plant,
        says("2B", Kind.NOISE, noise=Noise.HUM),
        answers("2B", "q_noise", "hum"),
        outdoor_f=30,
    )

    assert of_fault(told, "valve_hum_chatter") > 2 * of_fault(told, "expansion_tick")


def test_a_hot_radiator_in_july_is_a_valve_or_a_thermostat(plant: Plant) -> None:
    """The boiler is hot for the taps; that July is hot nobody tells a heating technician."""
    told = ticket(
        plant, says("2B", Kind.TOO_HOT), answers("2B", "q_hot", "hot"), outdoor_f=75, now=JULY
    )

    chances = dict(told.components)
    assert chances["2B.valve"] + chances["2B.thermostat"] > 0.75


@pytest.mark.parametrize("outdoor_f", [20, 30])
@pytest.mark.parametrize(
    ("topic", "means", "fault"),
    [("q_window", "open", "window_open"), ("q_block", "blocked", "emitter_covered")],
)
def test_a_cold_room_with_a_hot_radiator_loses_or_keeps_back_heat(
    plant: Plant, topic: str, means: str, fault: str, outdoor_f: float
) -> None:
    """Shut the window, move the sofa: where the radiator is hot no valve is shut, no battery empty."""
    told = ticket(
        plant,
        says("2B", Kind.TOO_COLD),
        reads("2B", 65, 70),
        answers("2B", "q_hot", "hot"),
        answers("2B", topic, means),
        outdoor_f=outdoor_f,
    )

    losing = ("window_open", "emitter_covered", "air_conditioner_sleeve", "draft_infiltration")
    assert of_fault(told, *losing) > 0.5
    assert of_fault(told, fault) > of_fault(told, "stat_batteries_dead")


def test_a_leak_and_a_house_going_cold_are_one_lack_of_water(plant: Plant):
    """Water seen on a floor while home after home goes cold: the pressure goes with the water."""
    homes = [str(a.id) for a in plant.apartments]
    wet, *cold = homes[0], *homes[1:6]
    said = [says(wet, Kind.LEAK), *(says(home, Kind.TOO_COLD) for home in cold)]

    group = ticket(plant, *said, outdoor_f=25.0)

    first = [s.fault for s in group.suspects[:3]]
    assert "system_leak_not_made_up" in first


def test_where_water_is_seen_says_whose_it_is(plant: Plant) -> None:
    """From the radiator it is the radiator or its valve; what drips from a ceiling is no valve here."""
    wet, drips = says("2B", Kind.LEAK), answers("2B", "q_leak", "drip")

    def seen_at(place: str) -> Group:
        return ticket(plant, wet, drips, answers("2B", "q_leak_at", place), outdoor_f=30)

    radiator, ceiling, sink = seen_at("radiator"), seen_at("ceiling"), seen_at("elsewhere")
    own = ("emitter_leak", "valve_body_leak")
    assert radiator.suspects[0].fault in own
    assert of_fault(radiator, *own) > 0.75
    assert of_fault(ceiling, *own) < 0.15
    assert ceiling.suspects[0].fault == "system_leak"
    assert sink.unknown > 0.75


def test_that_it_drips_does_not_make_a_leak_the_heatings(plant: Plant) -> None:
    """A tap and a bath drip as well."""
    wet = says("2B", Kind.LEAK)
    plain = ticket(plant, wet, outdoor_f=30)
    drips = ticket(plant, wet, answers("2B", "q_leak", "drip"), outdoor_f=30)
    assert drips.unknown == pytest.approx(plain.unknown, abs=0.1)
