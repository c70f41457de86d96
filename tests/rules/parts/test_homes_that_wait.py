"""What a second trip is worth: by hand, by what more homes change, and in a house with one boiler."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.diagnosis import diagnose
from rules.faults.catalogue import faults
from rules.model import (
    ApartmentId,
    Evidence,
    FaultId,
    HourlyWeather,
    Household,
    Kind,
    PartId,
    Reported,
)
from rules.parts import Cause, causes_behind, is_needed, loads
from rules.parts.day import Truck, day_load
from rules.parts.first_visit import day_ticket
from rules.parts.waiting import second_trip_minutes
from tests.houses import a_boiler, a_home, a_house, a_loop, a_valve, built, places

NOW = datetime(2027, 1, 14, 23, 0, tzinfo=UTC)
BOARD, BOARD_FAILED = PartId("boiler_board"), FaultId("boiler_board_failed")


def carried(*causes: Cause) -> set[PartId]:
    """The parts on a ticket's list."""
    return {load.part for load in loads(causes)}


@pytest.mark.parametrize(
    ("homes", "minutes"), [(0, 90), (1, 105), (4, 150), (16, 330), (30, 330), (200, 330)]
)
def test_a_second_trip_costs_the_drive_and_those_who_wait(homes, minutes):
    """90 minutes and 15 a home, and never more than four hours of them: worked by hand."""
    assert second_trip_minutes(homes) == minutes


def test_a_board_is_carried_for_a_house_and_not_for_a_home():
    """480 dollars and a shoe box are 14.9 minutes: one use in ten saves a house 33, a home 10.5."""
    assert faults()[BOARD_FAILED].parts[0] == BOARD
    one_in_ten = 0.1 / 0.8

    assert BOARD in carried(Cause(BOARD_FAILED, one_in_ten, homes=30))
    assert BOARD not in carried(Cause(BOARD_FAILED, one_in_ten))


def test_what_many_wait_for_goes_on_first():
    """One use in forty is for the spare room where one home waits, and first where thirty do."""
    assert not is_needed(0.025, 1)
    assert is_needed(0.025, 30)


def test_what_does_not_fit_the_truck_is_no_load():
    """A boiler is ordered, however sure it is and whoever waits."""
    needs_a_boiler = next(f for f, row in faults().items() if row.parts[:1] == ("boiler",))

    assert "boiler" not in carried(Cause(needs_a_boiler, 1.0, homes=200))


a_cause = st.builds(
    Cause,
    st.sampled_from(sorted(f for f, row in faults().items() if row.parts)),
    st.floats(0.001, 0.9),
    st.floats(0.0, 60.0),
)
some_causes = st.lists(a_cause, min_size=1, max_size=6, unique_by=lambda cause: cause.fault)


@given(some_causes, st.data())
def test_more_homes_that_wait_take_no_part_off_a_ticket(causes, data):
    """What was worth carrying stays so when more homes wait for any of the causes."""
    more = [data.draw(st.floats(0.0, 40.0)) for _ in causes]
    with_more = [c._replace(homes=c.homes + n) for c, n in zip(causes, more, strict=True)]

    assert carried(*causes) <= carried(*with_more)


@given(some_causes, st.floats(0.0, 40.0))
def test_more_homes_that_wait_do_not_lower_the_chance_of_a_ticket_alone_on_a_truck_with_room(
    causes, more
):
    """Where nothing else wants the room, the first visit mends it at least as likely."""
    roomy = Truck(room=500, cost=20_000)
    with_more = [cause._replace(homes=cause.homes + more) for cause in causes]

    before = day_load([day_ticket("a", causes)], roomy).first_visit["a"]
    after = day_load([day_ticket("a", with_more)], roomy).first_visit["a"]

    assert after >= before - 1e-9


def test_on_a_full_truck_the_part_goes_on_that_more_homes_wait_for():
    """Room for one circulator or one control board, used as likely: the house with the dead boiler."""
    board = [Cause(BOARD_FAILED, 0.5, homes=30)]
    pump = [Cause(FaultId("pump_seized"), 0.5, homes=1)]
    # Beside its circulator a pump needs two parts that cost little.
    tickets = [day_ticket("a", pump), day_ticket("b", board)]

    of_a_house = {p.part for p in day_load(tickets, Truck(room=3, cost=500)).parts}
    alike = [day_ticket("a", pump), day_ticket("b", [board[0]._replace(homes=1.0)])]
    of_a_home = {p.part for p in day_load(alike, Truck(room=3, cost=500)).parts}

    assert BOARD in of_a_house
    assert "circulator" in of_a_home


@pytest.fixture(scope="module")
def plant():
    """Twelve homes on one loop and one boiler that heats their taps too."""
    valve = a_valve("xf-1", va=7.0, installed="2016-03")
    stat = {"kind": "battery", "installed": "2016-11"}
    homes = [a_home(f, line, on=1, valve=valve, thermostat=stat) for f, line in places(4, "ABC")]
    return built(a_house(homes, [a_loop(1)], sources=[a_boiler(hot_water="indirect_priority")]))


def waiting(plant, outdoor_f, *homes):
    """How many homes wait, by fault, where some report cold at this weather."""
    weather = [HourlyWeather(NOW + timedelta(hours=h), outdoor_f) for h in range(-24, 25)]
    said = [
        Evidence(f"m_{h}", NOW, Reported(ApartmentId(h), frozenset({Kind.TOO_COLD}), None))
        for h in homes
    ]
    found = diagnose(plant, said, [Household(a.id) for a in plant.apartments], weather, NOW)
    group = next(g for g in found.groups if homes[0] in g.apartments)
    return {cause.fault: cause.homes for cause in causes_behind(found, group)}


def test_a_dead_pump_leaves_all_without_in_a_frost_and_fewer_in_mild_weather(plant):
    """Two of twelve have written; nobody's rooms fall far at 60 F outdoors."""
    frost, mild = (waiting(plant, f, "1A", "2B")["pump_seized"] for f in (5.0, 60.0))

    assert frost == pytest.approx(12)
    assert mild < frost / 2


def test_nobody_else_waits_for_a_homes_own_fault(plant):
    """Flat batteries are one home's."""
    assert waiting(plant, 5.0, "1A")["stat_batteries_dead"] == pytest.approx(1)


def test_all_who_complain_of_one_cause_wait_for_it(plant):
    """On a mild day, too, each of three that a pump leaves cold."""
    waits = waiting(plant, 58.0, "1A", "2B", "3C")["pump_seized"]

    assert 2.5 < waits <= 12
