"""The value of questions and the order of repairs, against published theory and worked numbers."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.asking.value import (
    expected_cost_of_repair,
    repair_order,
    value_of_information,
    value_of_question,
)

# Worked example D1/D2/D3 of the project's standards collection (checked there against all 24
# permutations); the rule is Kadane & Simon 1977, the form Heckerman, Breese & Rommelse 1995.
P = np.array([0.40, 0.30, 0.20, 0.10])
C = np.array([60.0, 20.0, 50.0, 5.0])


def cost_in_order(chances, costs, order):
    """ECR of one given order, straight from its definition."""
    still, total = 1.0, 0.0
    for at in order:
        total += costs[at] * still
        still -= chances[at]
    return total


def test_worked_example_costs_69_0_and_the_worst_order_106_5():
    """p over c orders 4, 2, 1, 3 at 69.0; the runner-up is 69.5 and the worst 106.5."""
    assert list(repair_order(P, C) + 1) == [4, 2, 1, 3]
    assert expected_cost_of_repair(P, C) == pytest.approx(69.0, abs=1e-9)

    every = sorted(cost_in_order(P, C, o) for o in itertools.permutations(range(4)))
    assert every[0] == pytest.approx(69.0, abs=1e-9)
    assert every[1] == pytest.approx(69.5, abs=1e-9)
    assert every[-1] == pytest.approx(106.5, abs=1e-9)


def test_observe_then_repair_costs_47_2():
    """With observation and repair costs apart the order is the same and the cost 47.2."""
    observe, repair = np.array([10.0, 5, 20, 2]), np.array([50.0, 15, 30, 3])

    assert list(repair_order(P, observe) + 1) == [2, 4, 1, 3] or list(
        repair_order(P, observe) + 1
    ) == [4, 2, 1, 3]
    assert expected_cost_of_repair(P, observe, repair_costs=repair) == pytest.approx(47.2, abs=1e-9)


def test_value_of_the_worked_question_is_13_70():
    """Answers with P(yes | fault) = .9 .2 .1 .1 save 13.70 before the question's own cost."""
    yes = np.array([0.9, 0.2, 0.1, 0.1])

    value = value_of_question(P, C, np.stack([yes, 1 - yes], axis=1))

    assert value == pytest.approx(13.70, abs=1e-2)


def test_a_test_that_cannot_change_the_purchase_is_worth_exactly_nothing():
    """The used-car exercise (Russell & Norvig 16.22): buy after pass and after fail, so value 0."""
    good = np.array([0.7, 0.3])
    passes = np.array([[0.8, 0.2], [0.35, 0.65]])
    buy_or_not = np.array([[2000.0 - 1500, 2000.0 - 1500 - 700], [0.0, 0.0]])

    assert value_of_information(good, passes, buy_or_not) == 0.0


@given(st.lists(st.tuples(st.floats(0.01, 1), st.floats(0.5, 200)), min_size=1, max_size=6))
def test_order_by_chance_over_cost_equals_brute_force(rows):
    """For up to six faults the rule is never beaten by any of the n! orders."""
    chances = np.array([p for p, _ in rows])
    chances = chances / chances.sum()
    costs = np.array([c for _, c in rows])

    best = min(cost_in_order(chances, costs, o) for o in itertools.permutations(range(len(rows))))

    assert expected_cost_of_repair(chances, costs) == pytest.approx(best, abs=1e-9)


def test_scaling_costs_scales_the_result_and_impossible_faults_come_last():
    """Costs times k give k times the cost in the same order; p = 0 is tried last."""
    assert expected_cost_of_repair(P, 3 * C) == pytest.approx(3 * 69.0)
    assert list(repair_order(P, 3 * C)) == list(repair_order(P, C))

    with_nothing = repair_order(np.append(P, 0.0), np.append(C, 1.0))
    assert with_nothing[-1] == 4


def test_the_rule_is_beaten_when_costs_are_shared():
    """A cabinet opened once for two checks breaks the rule's premise: it must then lose somewhere."""
    chances, own, cabinet = np.array([0.3, 0.3, 0.4]), np.array([1.0, 1.0, 6.0]), 10.0

    def shared(order):
        still, total, is_open = 1.0, 0.0, False
        for at in order:
            extra = cabinet if at < 2 and not is_open else 0.0
            is_open = is_open or at < 2
            total += (own[at] + extra) * still
            still -= chances[at]
        return total

    by_rule = repair_order(chances, own + np.array([cabinet, cabinet, 0.0]))
    best = min(shared(o) for o in itertools.permutations(range(3)))
    assert shared(by_rule) > best + 1e-9 or shared(repair_order(chances, own)) > best + 1e-9
