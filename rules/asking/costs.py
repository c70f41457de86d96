"""What it costs to find out and mend, given how likely each cause is.

Theory of operation
-------------------
On site suspects are tried in falling order of probability over minutes; with one fault and costs that do
not depend on the order that minimises the expected cost (Kadane and Simon 1977; Heckerman, Breese and
Rommelse 1995). Before that stands a decision: a visit that aims at the likeliest component, or help by
text first. The cost of a decision is linear in the mass over causes, so answers are handled together,
one row each, and masses need not sum to one.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rules.data import table
from rules.diagnosis.exact import product

__all__ = [
    "FALLBACK_MINUTES",
    "Floats",
    "Plan",
    "expected_cost_of_repair",
    "repair_order",
    "value_of_information",
    "value_of_question",
]

Floats = NDArray[np.float64]

# If nothing on the list is it: minutes until somebody knows (common practice, no source).
FALLBACK_MINUTES = 60.0


def repair_order(chances: Floats, costs: Floats) -> NDArray[np.intp]:
    """Indices in the order in which to try: falling chance over cost; ties keep their order."""
    return np.argsort(-(chances / costs), kind="stable")


def expected_cost_of_repair(
    chances: Floats,
    costs: Floats,
    *,
    repair_costs: Floats | None = None,
    fallback: float = 0.0,
) -> float:
    """Expected cost of trying actions in the best order until one mends it.

    Args:
        chances: P(fault i), summing to at most 1; shape (faults,).
        costs: cost of trying (or observing) action i, in any unit; the order is by chance over cost.
        repair_costs: with observe-then-repair, what mending i costs once it is seen.
        fallback: cost that follows if none of them was it, times the chance of that.
    """
    order = repair_order(chances, costs)
    sorted_chances = chances[order]
    still = 1.0 - np.concatenate([[0.0], np.cumsum(sorted_chances)[:-1]])
    total = float((costs[order] * still).sum())
    if repair_costs is not None:
        total += float((sorted_chances * repair_costs[order]).sum())
    return total + fallback * max(0.0, 1.0 - float(chances.sum()))


def value_of_question(
    chances: Floats, costs: Floats, likelihood: Floats, *, fallback: float = 0.0
) -> float:
    """Expected fall of the cost of repair by an answer, before the cost of asking.

    Args:
        chances: P(fault i); shape (faults,).
        costs: cost of action i.
        likelihood: P(answer | fault); shape (faults, answers), rows sum to 1.
        fallback: as in ``expected_cost_of_repair``.
    """
    return _value(chances[:, None] * likelihood, chances, costs, fallback)


def value_of_information(chances: Floats, likelihood: Floats, utility: Floats) -> float:
    """Value of an observation for one decision: gain in expected utility of the best action.

    Args:
        chances: P(state); likelihood: P(observation | state), shape (states, observations);
        utility: shape (actions, states).
    """
    before = float((utility @ chances).max())
    joint = chances[:, None] * likelihood
    after = float((utility @ joint).max(axis=0).sum())
    return max(after - before, 0.0) if after - before > 1e-12 else 0.0


def _value(joint: Floats, chances: Floats, costs: Floats, fallback: float) -> float:
    """The same from joint mass P(fault, answer); what is missing to 1 is not described."""
    before = expected_cost_of_repair(chances, costs, fallback=fallback)
    after = 0.0
    for answer in joint.T:
        after += _mass_cost(answer, float(answer.sum()), costs, fallback)
    return before - after


def _mass_cost(mass: Floats, total: float, costs: Floats, fallback: float) -> float:
    if total <= 0:
        return 0.0
    return total * expected_cost_of_repair(mass / total, costs, fallback=fallback)


@dataclass(frozen=True, eq=False)
class Plan:
    """What deciding about one complaint costs, from masses over its causes."""

    minutes: Floats  # (causes,): of the first check of each
    component: NDArray[np.intp]  # (causes,): which component each belongs to
    by_text: NDArray[np.bool_]  # (causes,): whether the tenant can mend it
    other_minutes: float  # of all causes that have no mass at all: they are tried last

    @cached_property
    def _belongs(self) -> Floats:
        """(causes, components): 1 where a cause belongs to a component."""
        _, place = np.unique(self.component, return_inverse=True)
        return np.eye(int(place.max(initial=-1)) + 1)[place]

    def costs(self, mass: Floats, total: Floats) -> Floats:
        """Expected minutes under the best decision times ``total``; (rows,).

        A minimum over decisions whose costs are linear in the mass, so no answer can be worth less
        than nothing.

        Args:
            mass: mass by cause; (rows, causes).
            total: the same with what no cause describes; (rows,).
        """
        about = table("answers")
        visit, aim = float(about["visit_minutes"]), float(about["wrong_aim_minutes"])
        row = np.arange(len(mass))
        on_site, on_site_rest, likeliest = self._on_site(mass, total)
        by_component = product(mass, self._belongs)
        best = visit * total + aim * (total - by_component.max(axis=1, initial=0.0)) + on_site
        # Help is offered first; who is not helped by it is visited.
        helped = mass[row, likeliest]
        rest = total - helped
        by_component -= helped[:, None] * self._belongs[likeliest]
        after_help = visit * rest + aim * (rest - by_component.max(axis=1, initial=0.0))
        after_help += on_site_rest + float(about["by_text_minutes"]) * total
        can_help = self.by_text[likeliest] & (helped > 0)
        least: Floats = np.where(can_help, np.minimum(best, after_help), best)
        return least

    def _on_site(self, mass: Floats, total: Floats) -> tuple[Floats, Floats, NDArray[np.intp]]:
        """Minutes of trying all causes, all but the likeliest that helps by text, and which that is."""
        row = np.arange(len(mass))
        order = np.argsort(mass / -self.minutes, axis=1)
        sorted_mass = mass.take(order + row[:, None] * mass.shape[1])
        minutes = self.minutes.take(order)
        so_far = np.cumsum(sorted_mass, axis=1)
        before = so_far - sorted_mass
        unfound = total - mass.sum(axis=1)
        cost = np.einsum("rc,rc->r", minutes, total[:, None] - before)
        cost += unfound * self.other_minutes + FALLBACK_MINUTES * np.maximum(unfound, 0.0)
        likeliest = np.where(self.by_text, mass, 0.0).argmax(axis=1)
        # Without it whoever stands before it is left with less, and itself is tried last of all.
        place = np.argmax(order == likeliest[:, None], axis=1)
        before_it = np.arange(mass.shape[1]) < place[:, None]
        minutes_before = np.einsum("rc,rc->r", minutes, before_it)
        saved = mass[row, likeliest] * minutes_before
        saved += minutes[row, place] * (total - before[row, place] - unfound)
        return cost, cost - saved, likeliest
