"""All answers at once cost what each costs by itself, written out decision by decision."""

from __future__ import annotations

import numpy as np
import pytest

from rules.asking.costs import FALLBACK_MINUTES, Plan, expected_cost_of_repair
from rules.data import table

CAUSES, COMPONENTS = 9, 4


def visit(plan: Plan, mass: np.ndarray, total: float) -> float:
    """Going there for the likeliest component and trying all causes in turn, times ``total``."""
    about = table("answers")
    by_component = [mass[plan.component == c].sum() for c in range(COMPONENTS)]
    unfound = total - mass.sum()
    on_site = total * expected_cost_of_repair(mass / total, plan.minutes, fallback=FALLBACK_MINUTES)
    return (
        about["visit_minutes"] * total
        + about["wrong_aim_minutes"] * (total - max(by_component))
        + on_site
        + unfound * plan.other_minutes
    )


def by_hand(plan: Plan, mass: np.ndarray, total: float) -> float:
    """The cheaper of going there, and of helping by text first and going there if it does not help."""
    helped = np.where(plan.by_text, mass, 0.0)
    first = int(helped.argmax())
    rest = np.where(np.arange(CAUSES) == first, 0.0, mass)
    text = table("answers")["by_text_minutes"] * total + visit(plan, rest, total - mass[first])
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
