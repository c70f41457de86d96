"""Complaints that may have one cause or one each: where to look, and what to carry for both."""

from __future__ import annotations

import pytest
from conftest import NOW, report, weather

from rules.diagnosis import diagnose
from rules.faults.catalogue import faults
from rules.model import Answered, ApartmentId, Evidence, Household, TopicId
from rules.parts import load_list

BLANK = Evidence("b", NOW, Answered(ApartmentId("2B"), TopicId("q_screen"), "blank"))
# A dead loop, and batteries that died in one of its homes: both may be so.
COLD = [
    report("1A", "too_cold", hours_ago=6),
    report("2B", "too_cold", hours_ago=4),
    report("2C", "too_cold", hours_ago=3),
]


@pytest.fixture
def believed(plant):
    """The diagnosis with what was said, and its only ticket."""
    people = [Household(a.id) for a in plant.apartments]

    def ask(*said):
        found = diagnose(plant, said, people, weather(30.0), NOW)
        (group,) = found.groups
        return found, group

    return ask


def test_the_loop_stands_first_and_the_blank_screen_among_the_first_three(believed):
    """A blank screen on batteries is looked at as well (common practice, no source)."""
    _, group = believed(*COLD, BLANK)

    first = [s.component for s in group.suspects[:3]]

    assert first[0] == "pump-1"
    assert "2B.thermostat" in first


def test_parts_are_carried_for_whatever_is_behind_any_of_the_complaints(believed):
    """One home of three may have its own trouble: its batteries do not count a third."""
    found, group = believed(*COLD, BLANK)

    dead = next(s for s in group.suspects if s.fault == "stat_batteries_dead")
    batteries = next(x for x in load_list(found, group) if x.part == "batteries")

    # The first part of a fault is used in 0.8 of its repairs (``rules.parts``).
    assert batteries.chance_used >= 3 * 0.8 * dead.probability - 1e-9


def test_a_part_that_only_unlikely_faults_want_is_carried_too(believed):
    """One cold home may be the first of a dead loop: the cheap parts of its plant ride along."""
    answers = {"q_screen": "normal", "q_mode": "heat", "q_up": "stays_cold"}
    told = [
        Evidence(topic, NOW, Answered(ApartmentId("3B"), TopicId(topic), means))
        for topic, means in answers.items()
    ]
    found, group = believed(report("3B", "too_cold", hours_ago=6), *told)

    named = {part for s in group.suspects for part in faults()[s.fault].parts}
    loaded = {x.part for x in load_list(found, group)}

    assert "fuse" in loaded - named


def test_a_dear_part_stays_at_the_shop_unless_it_is_likely(believed):
    """A control board of 480 dollars is not carried for one boiler fault in twenty-five."""
    cold = [report(home, "too_cold", "no_hot_water") for home in ("1A", "2B", "3C", "4A")]
    found, group = believed(*cold)

    board = next(s for s in group.suspects if s.fault == "boiler_board_failed")

    assert board.probability > 0.02
    assert not {x.part for x in load_list(found, group)} & {"boiler_board", "boiler"}
