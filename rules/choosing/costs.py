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

__all__ = ["FALLBACK_MINUTES", "Floats", "Plan"]

Floats = NDArray[np.float64]

# If nothing on the list is it: minutes until somebody knows (common practice, no source).
FALLBACK_MINUTES = 60.0


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
        # Help is offered first; who is not helped by it is visited, a day later and less patient.
        helped = mass[row, likeliest]
        rest = total - helped
        by_component -= helped[:, None] * self._belongs[likeliest]
        after_help = visit * rest + aim * (rest - by_component.max(axis=1, initial=0.0))
        after_help += on_site_rest + float(about["by_text_minutes"]) * total
        after_help += float(about["vain_help_minutes"]) * rest
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
