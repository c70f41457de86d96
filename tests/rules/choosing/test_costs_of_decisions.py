"""What finding and mending costs: worked numbers, published theory, and each decision written out."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.choosing.costs import FALLBACK_MINUTES, Plan
from rules.data import table

CAUSES, COMPONENTS = 9, 4

# Worked example D1/D2/D3 of the project's standards collection (checked there against all 24
# permutations); the rule is Kadane & Simon 1977, the form Heckerman, Breese & Rommelse 1995.
CHANCES = np.array([0.40, 0.30, 0.20, 0.10])
MINUTES = np.array([60.0, 20.0, 50.0, 5.0])


def in_order(chances: np.ndarray, minutes: np.ndarray, order: Iterable[int]) -> float:
    """What trying in one given order costs, straight from its definition."""
    still, total = 1.0, 0.0
    for at in order:
        total += minutes[at] * still
        still -= chances[at]
    return total


def on_site(minutes: np.ndarray, mass: np.ndarray) -> np.ndarray:
    """What is left of the cost of a visit without the way: all causes are of one component."""
    none = np.zeros(len(minutes), dtype=int)
    plan = Plan(minutes, component=none, by_text=none.astype(bool), other_minutes=0.0)
    total = mass.sum(axis=1)
    return plan.costs(mass, total) - table("answers")["visit_minutes"] * total


def test_the_worked_example_costs_69_0_and_no_order_costs_less():
    """p over c orders 4, 2, 1, 3 at 69.0; the runner-up is 69.5 and the worst 106.5."""
    assert on_site(MINUTES, CHANCES[None]) == pytest.approx([69.0], abs=1e-9)

    every = sorted(in_order(CHANCES, MINUTES, order) for order in permutations(range(4)))
    assert (every[0], every[1], every[-1]) == pytest.approx((69.0, 69.5, 106.5), abs=1e-9)


def test_the_worked_question_saves_13_70():
    """Answers with P(yes | fault) = .9 .2 .1 .1, before the question's own cost."""
    yes = np.array([0.9, 0.2, 0.1, 0.1])

    before, after_yes, after_no = on_site(MINUTES, CHANCES * np.stack([np.ones(4), yes, 1 - yes]))

    assert before - after_yes - after_no == pytest.approx(13.70, abs=1e-2)


def test_the_worked_observe_then_repair_costs_47_2():
    """Looking costs apart from mending; what is found is mended once, whatever the order of looking."""
    looking, mending = np.array([10.0, 5.0, 20.0, 2.0]), np.array([50.0, 15.0, 30.0, 3.0])

    assert on_site(looking, CHANCES[None]) + CHANCES @ mending == pytest.approx([47.2], abs=1e-9)


def worth_of_a_test(states: np.ndarray, passes: np.ndarray) -> float:
    """What an answer pass or fail saves; each state weighs what acting as for the other would cost."""
    plan = Plan(np.full(2, 30.0), np.arange(2), np.zeros(2, dtype=bool), other_minutes=0.0)
    mass = np.stack([states, states * passes, states * (1 - passes)])
    before, after_pass, after_fail = plan.costs(mass, mass.sum(axis=1))
    return float(before - after_pass - after_fail)


def test_a_test_that_cannot_change_the_purchase_is_worth_exactly_nothing():
    """The used-car exercise (Russell & Norvig 16.22): bought after pass and after fail, so value 0.

    Good with 0.7, then not buying loses 500; lemon with 0.3, then buying loses 200. A test that lemons
    fail with 0.875 instead of 0.65 changes the purchase if a lemon loses 600, and is worth something.
    """
    passes = np.array([0.8, 0.35])
    assert worth_of_a_test(np.array([350.0, 60.0]), passes) == pytest.approx(0.0, abs=1e-9)
    assert worth_of_a_test(np.array([350.0, 180.0]), np.array([0.8, 0.125])) > 0


@given(st.lists(st.tuples(st.floats(0.01, 1), st.floats(0.5, 200)), min_size=1, max_size=6))
def test_no_order_is_cheaper_than_falling_chance_over_minutes(rows):
    """For up to six faults the rule is never beaten by any of the n! orders."""
    chances, minutes = np.array(rows).T
    chances = chances / chances.sum()

    best = min(in_order(chances, minutes, order) for order in permutations(range(len(rows))))

    assert on_site(minutes, chances[None]) == pytest.approx([best], abs=1e-9)


def visit(plan: Plan, mass: np.ndarray, total: float) -> float:
    """Going there for the likeliest component and trying all causes in turn, times ``total``."""
    about = table("answers")
    by_component = [mass[plan.component == c].sum() for c in range(COMPONENTS)]
    unfound = total - mass.sum()
    trying = total * in_order(mass / total, plan.minutes, np.argsort(-mass / plan.minutes))
    return (
        about["visit_minutes"] * total
        + about["wrong_aim_minutes"] * (total - max(by_component))
        + trying
        + unfound * (FALLBACK_MINUTES + plan.other_minutes)
    )


def by_hand(plan: Plan, mass: np.ndarray, total: float) -> float:
    """The cheaper of going there, and of helping by text first and going there if it does not help."""
    helped = np.where(plan.by_text, mass, 0.0)
    first = int(helped.argmax())
    rest = np.where(np.arange(CAUSES) == first, 0.0, mass)
    about, visited = table("answers"), total - mass[first]
    text = about["by_text_minutes"] * total + about["vain_help_minutes"] * visited
    text += visit(plan, rest, visited)
    return min(visit(plan, mass, total), text) if helped[first] > 0 else visit(plan, mass, total)


@pytest.mark.parametrize("seed", range(20))
def test_costs_of_many_answers_are_the_costs_of_each(seed):
    """Random masses, some causes with none, any of them mendable by text or none."""
    draw = np.random.default_rng(seed)
    plan = Plan(
        minutes=draw.uniform(2.0, 40.0, CAUSES),
        component=draw.integers(0, COMPONENTS, CAUSES),
        by_text=draw.random(CAUSES) < draw.choice([0.0, 0.4]),
        other_minutes=float(draw.uniform(0, 500)),
    )
    mass = draw.random((6, CAUSES)) * (draw.random((6, CAUSES)) < 0.7)
    total = mass.sum(axis=1) + draw.random(6) * 0.3 + 1e-3

    costs = plan.costs(mass, total)

    expected = [by_hand(plan, m, float(t)) for m, t in zip(mass, total, strict=True)]
    assert costs == pytest.approx(expected, rel=1e-9)
