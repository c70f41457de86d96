"""A tank outlasts its boiler by hours and is empty for all at once (common practice, no source)."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from conftest import NOW, house, report, weather

from rules.diagnosis import diagnose
from rules.diagnosis.moment import Onset, Timeline
from rules.diagnosis.tanks import NOTHING_TOLD, tanks_of
from rules.model import (
    Answered,
    ApartmentId,
    ComponentId,
    Evidence,
    Household,
    Kind,
    RoomRead,
    TopicId,
)
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


def boiler_chance(hot_water: str, hours: float, hot_taps: int = 3) -> float:
    """Of one that is out; some of three cold homes have hot water so long after the first wrote."""
    document = house()
    document["heat_sources"][0]["hot_water"] = hot_water
    plant = built(document)
    cold = ("1A", "2B", "3C")
    evidence = [
        *(report(home, Kind.TOO_COLD, hours_ago=hours - n / 4) for n, home in enumerate(cold)),
        *(
            Evidence(home, NOW, Answered(ApartmentId(home), TopicId("q_dhw"), "normal"))
            for home in cold[:hot_taps]
        ),
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


MORNING = datetime(2027, 1, 15, tzinfo=ZoneInfo("America/New_York"))


def empty_at(died: datetime, hours: float, *told: tuple[float, str]) -> float:
    """Chance that the tank of a boiler that died then is empty so many hours later.

    ``told`` are answers about the tap, of one home each, so many hours after it died.
    """
    plant = built(house())
    homes = [a.id for a in plant.apartments]
    heads = dict.fromkeys(homes, ComponentId("boiler-1"))
    by_home = {
        home: [Evidence("m", died + timedelta(hours=h), Answered(home, TopicId("q_dhw"), means))]
        for home, (h, means) in zip(homes, told, strict=False)
    }
    tank = tanks_of(heads, by_home).get(ComponentId("boiler-1"), NOTHING_TOLD)
    at = died + timedelta(hours=hours)
    return float(tank.empty(Timeline((Onset(died, 1.0),), at, at, MORNING.tzinfo), at)[0])


def test_what_is_drawn_empties_a_tank_and_not_the_clock() -> None:
    """It lasts the night and not the morning's showers (common practice, no source)."""
    bedtime, before_showers = MORNING - timedelta(hours=1), MORNING + timedelta(hours=6.5)

    assert empty_at(bedtime, 6.5) < 0.4
    assert empty_at(before_showers, 3) > 0.8
    assert empty_at(bedtime, 10) > 0.85


def test_a_tap_that_ran_cold_settles_it_for_the_next_home() -> None:
    """And so does a hot one, until more is drawn: they have one tank."""
    died = MORNING + timedelta(hours=5)
    unknown = empty_at(died, 2.5)

    assert 0.2 < unknown < 0.8
    assert empty_at(died, 2.5, (2.4, "none")) > 0.95
    assert empty_at(died, 2.5, (2.4, "normal")) < unknown / 2
    assert empty_at(died, 24, (2.4, "normal")) > 0.95


def test_a_second_home_teaches_little_of_a_boiler_that_heats_a_tank() -> None:
    """Two homes with hot water from one tank are one fact: no factor of eight twice."""
    one, two, three = (boiler_chance("indirect", 3, homes) for homes in (1, 2, 3))

    assert two / one > 0.5
    assert three / two > two / one
