"""Water in homes over each other is one leak, in the topmost of them (common practice, no source)."""

from __future__ import annotations

import itertools

import pytest
from conftest import NOW, house, report, weather

from rules.checks import order_checks
from rules.checks.worksheet import worksheet
from rules.choosing.value import question_values
from rules.diagnosis import diagnose
from rules.model import Answered, ApartmentId, Evidence, Household, TopicId
from rules.parts import load_list
from tests.houses import built

DRIP = Evidence("d", NOW, Answered(ApartmentId("4C"), TopicId("q_leak"), "drip"))


@pytest.fixture(scope="module")
def tall():
    """Six floors on three loops, three lines."""
    return built(house(6, "ABC", 3))


def diagnosed(tall, *said):
    return diagnose(tall, said, [Household(a.id) for a in tall.apartments], weather(25.0), NOW)


def wet(home, hours_ago=2.0):
    return report(home, "leak", hours_ago=hours_ago)


@pytest.mark.parametrize("order", list(itertools.permutations(("4C", "3C", "2C"))))
def test_three_wet_homes_of_a_line_are_one_leak_in_the_topmost(tall, order):
    """Whoever sees it first: below it is often told sooner than above."""
    said = [wet(home, hours_ago=6.0 - 2 * n) for n, home in enumerate(order)]
    (group,) = diagnosed(tall, *said, DRIP).groups

    assert group.apartments == ("2C", "3C", "4C")
    assert (group.scope, group.component) == ("apartment", "4C")
    own = [s for s in group.suspects if s.component in ("4C", "4C.valve")]
    shared = [s for s in group.suspects if len(s.reaches) > 1]
    assert sum(s.probability for s in own) > sum(s.probability for s in shared)
    assert all(s.explains == ("2C", "3C", "4C") for s in own)
    assert not [s for s in group.suspects if s.component in ("3C", "3C.valve", "2C", "2C.valve")]


def test_what_leaks_is_believed_as_of_the_topmost_home_alone(tall):
    """That others see it too says where it is, and nothing of what it is."""
    alone = diagnosed(tall, wet("4C"), DRIP).groups[0]
    ceiling = Evidence("c", NOW, Answered(ApartmentId("3C"), TopicId("q_leak_at"), "ceiling"))
    below = diagnosed(tall, wet("4C"), DRIP, wet("3C"), ceiling).groups[0]

    named = {(s.fault, s.component): s.probability for s in below.suspects}
    for suspect in alone.suspects[:4]:
        found = named[suspect.fault, suspect.component]
        assert found == pytest.approx(suspect.probability, abs=0.02)


@pytest.mark.parametrize(
    "said",
    [
        (wet("4C"), wet("3A")),
        (wet("4C", hours_ago=100), wet("3C")),
        (wet("6C"), wet("2C")),
    ],
)
def test_another_line_or_another_day_or_far_below_is_weighed_by_itself(tall, said):
    """Water runs neither sideways nor for days; four floors down others would have seen it."""
    assert diagnosed(tall, *said).belief.runs_down == {}


def test_two_lines_wet_are_still_what_they_share(tall):
    """Three homes of two lines see water: the pipe that feeds both."""
    (group,) = diagnosed(tall, wet("4C"), wet("3C"), wet("3A")).groups
    assert group.apartments == ("3A", "3C", "4C")
    assert group.suspects[0].fault == "system_leak"


def test_a_home_below_that_is_cold_too_is_weighed_by_itself(tall):
    """Water from above cools nobody."""
    cold = report("3C", "leak", "too_cold")
    found = diagnosed(tall, wet("4C"), cold)
    assert found.belief.runs_down == {}
    assert found.belief.homes["3C"].said


def test_a_ticket_with_a_home_below_has_questions_checks_and_parts(tall):
    """Whoever stands below is on the ticket like anybody, also where it is taken apart."""
    found = diagnosed(tall, wet("4C"), DRIP, wet("3C"))
    (group,) = found.groups
    assert order_checks(found, group)
    alone = diagnosed(tall, wet("4C"), DRIP)
    mine, theirs = (
        {p.part: p.chance_used for p in load_list(d, d.groups[0])} for d in (alone, found)
    )
    assert mine["fittings"] == pytest.approx(theirs["fittings"], abs=0.03)
    assert [h["home"] for h in worksheet(found, group.apartments)["homes"]] == ["4C"]
    assert question_values(found, ApartmentId("4C"))
    question_values(found, ApartmentId("3C"))
    apart = found.narrowed(group, ["3C"])
    assert apart.apartments == ("3C",)
    assert apart.suspects[0].component in ("4C", "4C.valve")
    assert apart.suspects[0].explains == ("3C",)
