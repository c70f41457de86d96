"""A home that told of cold yesterday and of heat today: common practice, no source."""

from __future__ import annotations

from datetime import timedelta

import pytest
from conftest import NOW

from rules.diagnosis import diagnose
from rules.diagnosis.turned import as_told_last
from rules.model import (
    Answered,
    ApartmentId,
    Evidence,
    HourlyWeather,
    Household,
    Kind,
    Reported,
    RoomRead,
    TopicId,
)

HOME, OTHER = ApartmentId("2B"), ApartmentId("1A")
COLD, HOT = Kind.TOO_COLD, Kind.TOO_HOT


def told(hours: float, kinds: set[Kind], room_f: float, home: ApartmentId = HOME) -> list[Evidence]:
    """One text with its temperature."""
    at, source = NOW + timedelta(hours=hours), f"{home}:{hours}"
    facts = (Reported(home, frozenset(kinds)), RoomRead(home, room_f))
    return [Evidence(source, at, fact) for fact in facts]


@pytest.mark.parametrize(("before", "now"), [((COLD, 62), (HOT, 84)), ((HOT, 84), (COLD, 62))])
def test_the_last_word_decides_what_is_suspected(plant, before, now):
    """As if the home had not told the opposite the day before: nobody says that nothing is broken."""

    def suspects(*texts: list[Evidence]):
        evidence = [e for text in texts for e in text]
        at = NOW + timedelta(hours=24)
        weather = [HourlyWeather(at + timedelta(hours=h), 30.0) for h in range(-30, 48)]
        people = [Household(a.id) for a in plant.apartments]
        (group,) = diagnose(plant, evidence, people, weather, at).groups
        return [(s.fault, s.component, s.probability) for s in group.suspects]

    last = told(23, {now[0]}, now[1])
    found, alone = suspects(told(0, {before[0]}, before[1]), last), suspects(last)

    assert [s[:2] for s in found] == [s[:2] for s in alone]
    assert [s[2] for s in found] == pytest.approx([s[2] for s in alone], abs=1e-9)
    assert all(fault != "expectation_set_point" or chance < 0.2 for fault, _, chance in found)


def test_what_else_a_home_told_of_stays():
    """A leak of yesterday is still a leak; how the radiator felt then is of another time."""
    leak = Evidence("a", NOW, Reported(HOME, frozenset({COLD, Kind.LEAK})))
    felt = Evidence("b", NOW, Answered(HOME, TopicId("q_hot"), "cold"))
    neighbor = told(0, {COLD}, 60, OTHER)
    last = told(20, {HOT}, 84)

    kept = as_told_last([leak, felt, *neighbor, *last])

    assert [e.fact for e in kept if e.source == "a"] == [Reported(HOME, frozenset({Kind.LEAK}))]
    assert felt not in kept
    assert {*neighbor, *last} <= {*kept}


@pytest.mark.parametrize(
    "texts",
    [
        (told(0, {COLD}, 62), told(20, {COLD}, 60)),  # the same once more
        (told(0, {COLD, HOT}, 62), told(20, {COLD}, 60)),  # by day and by night, in one breath
        (told(0, {COLD}, 62), told(1, {HOT}, 84)),  # a slip, or both: an hour apart
        (told(0, {COLD}, 62), told(20, {HOT}, 84, OTHER)),  # another home's
    ],
)
def test_what_does_not_turn_stays_whole(texts):
    """All of it is evidence."""
    evidence = tuple(e for text in texts for e in text)
    assert as_told_last(evidence) == evidence
