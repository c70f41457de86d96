"""A tank outlasts its boiler by hours and is empty for all at once (common practice, no source)."""

from __future__ import annotations

from datetime import timedelta

from conftest import NOW, house, report, weather

from rules.diagnosis import diagnose
from rules.model import Answered, ApartmentId, Evidence, Household, Kind, RoomRead, TopicId
from tests.houses import built

COLD_TAPS = {"4G": 120, "5D": 75, "3E": 70, "4A": 40}  # minutes ago
COLD_ROOMS = {"3C": (90, 71.0), "4C": (10, 70.0)}  # and what the thermostat shows


def test_cold_taps_and_cold_rooms_of_one_morning_are_one_boiler() -> None:
    """Two hours after it went out on a cold morning rooms are near 70 F, and its tank may be empty."""
    plant = built(house(floors=5, lines="ABCDEFGH"))
    evidence = [
        report(home, Kind.NO_HOT_WATER, hours_ago=minutes / 60)
        for home, minutes in COLD_TAPS.items()
    ]
    for home, (minutes, room_f) in COLD_ROOMS.items():
        at, apartment = NOW - timedelta(minutes=minutes), ApartmentId(home)
        evidence += [
            report(home, Kind.TOO_COLD, hours_ago=minutes / 60),
            Evidence(home, at, RoomRead(apartment, room_f)),
            Evidence(home, at, Answered(apartment, TopicId("q_hot"), "cold")),
        ]
    homes = [Household(a.id) for a in plant.apartments]

    groups = diagnose(plant, evidence, homes, weather(28.0), NOW).groups

    assert [set(g.apartments) for g in groups] == [{*COLD_TAPS, *COLD_ROOMS}]
    assert groups[0].suspects[0].component == "boiler-1"


def boiler_chance(hot_water: str, hours: float) -> float:
    """Of one that is out, where three cold homes have hot water so long after the first wrote."""
    document = house()
    document["heat_sources"][0]["hot_water"] = hot_water
    plant = built(document)
    evidence = [
        item
        for n, home in enumerate(("1A", "2B", "3C"))
        for item in (
            report(home, Kind.TOO_COLD, hours_ago=hours - n / 4),
            Evidence(home, NOW, Answered(ApartmentId(home), TopicId("q_dhw"), "normal")),
        )
    ]
    homes = [Household(a.id) for a in plant.apartments]
    suspects = diagnose(plant, evidence, homes, weather(25.0), NOW).groups[0].suspects
    out = {"boiler_lockout", "boiler_switch_off", "high_limit_tripped", "gas_off", "lwco_trip"}
    return sum(s.probability for s in suspects if s.fault in out)


def test_hot_water_within_the_first_hours_does_not_clear_a_boiler_that_heats_a_tank() -> None:
    """What a coil in the boiler gives ends with its fire."""
    assert boiler_chance("indirect", 1) > 0.1
    assert boiler_chance("tankless_coil", 1) < boiler_chance("indirect", 1) / 10


def test_hot_water_long_after_clears_it() -> None:
    """Next day every tank is empty."""
    assert boiler_chance("indirect", 24) < 0.01
