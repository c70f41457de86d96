"""A tank that ran out is cold for all its homes at once; expectations are common practice, no source."""

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
