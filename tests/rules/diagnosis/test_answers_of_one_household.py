"""Answers of one household are right or wrong together."""

from __future__ import annotations

import itertools
from datetime import timedelta

import numpy as np
import pytest
from conftest import NOW, report, weather

from rules.data import table
from rules.diagnosis import diagnose
from rules.diagnosis.answers import answer_values, replies
from rules.diagnosis.household import Answers
from rules.diagnosis.moment import Since, timeline
from rules.diagnosis.said import together
from rules.diagnosis.space import make_space
from rules.model import Answered, ApartmentId, Evidence, TopicId

HOME = ApartmentId("1A")
TOPICS = ("q_hot", "q_up", "q_rooms")


def answer(topic: str, means: str, minutes: int = 0) -> Evidence:
    """An answer of the one home, so many minutes after the hour."""
    return Evidence(
        f"a_{topic}", NOW + timedelta(minutes=minutes), Answered(HOME, TopicId(topic), means)
    )


@pytest.fixture(scope="module")
def setting(plant):
    """Space, class and times of the home."""
    space = make_space(plant, NOW.date(), 22.0)
    times = timeline([report("1A", "too_cold", hours_ago=2)], NOW, plant.timezone)
    return space, space.home_class(HOME, None), times


def test_the_chances_of_all_possible_answers_add_up_to_one(setting):
    """Three answers in any combination: a distribution, in every state (axiom of probability)."""
    space, kind, times = setting
    values = [answer_values(TopicId(t)) for t in TOPICS]
    total: np.ndarray | float = 0.0
    for means in itertools.product(*values):
        said = [answer(t, m, n) for n, (t, m) in enumerate(zip(TOPICS, means, strict=True))]
        answers = Answers.of(space, kind, said)
        total = total + together(kind, [added for _, added in answers.added(times)]).likely
    np.testing.assert_allclose(total, 1.0, atol=1e-9)


def test_two_answers_have_the_chance_of_the_two_kinds_of_household(setting):
    """Summed over careful and careless households by hand (law of total probability)."""
    space, kind, times = setting
    answers = Answers.of(space, kind, [answer("q_hot", "hot"), answer("q_up", "stays_cold", 1)])
    both = together(kind, [added for _, added in answers.added(times)])
    of_hot, of_cold = (replies(space, kind, TopicId(t)) for t in ("q_hot", "q_up"))
    since = Since(times.hours(NOW), np.zeros(len(times.onsets)))
    hot = of_hot.keys.spread(of_hot.chance("hot", since), both.keys)
    cold = of_cold.keys.spread(of_cold.chance("stays_cold", since), both.keys)
    about = table("answers")["careless"]
    share, drawn = about["share"], about["drawn"]
    by_hand = (1 - share) * hot * cold + share * ((1 - drawn) * hot + drawn / 3) * (
        (1 - drawn) * cold + drawn / 3
    )
    np.testing.assert_allclose(both.likely, by_hand, rtol=1e-12)


def test_answers_that_no_state_explains_speak_for_a_careless_household(setting):
    """A radiator that is hot and stays cold when turned up was answered by somebody in a hurry."""
    space, kind, times = setting
    agreeing = Answers.of(space, kind, [answer("q_hot", "cold"), answer("q_up", "stays_cold", 1)])
    opposed = Answers.of(space, kind, [answer("q_hot", "hot"), answer("q_up", "stays_cold", 1)])
    beforehand = table("answers")["careless"]["share"]
    assert agreeing.careless(times).min() < beforehand
    assert opposed.careless(times).max() > 2 * beforehand


def test_the_order_of_answers_does_not_matter(plant, households):
    """The same three answers in two orders leave the same chances (Bayes' rule commutes)."""
    said = [("q_hot", "cold"), ("q_up", "warms"), ("q_rooms", "one_room")]
    chances = []
    for order in (said, said[::-1]):
        evidence = [report("1A", "too_cold", hours_ago=2)]
        evidence += [answer(t, m, -n) for n, (t, m) in enumerate(order)]
        fixed = [Evidence(e.source, NOW, e.fact) for e in evidence[1:]]
        found = diagnose(plant, [evidence[0], *fixed], households, weather(), NOW)
        chances.append({(s.fault, s.component): s.probability for s in found.groups[0].suspects})
    assert chances[0] == pytest.approx(chances[1], rel=1e-9)
