"""Pairs of shared faults that no home feels both of are not listed, and yet have the chance they had."""

from __future__ import annotations

import numpy as np
import pytest
from conftest import NOW, house, report, weather

from rules.diagnosis import diagnose
from rules.model import CheckId, ComponentId, Evidence, Found, Household
from tests.houses import built
from tests.networks import log_prior

# Of four loops with twelve homes each: a few homes of two loops, and all floors but one of both.
FEW = [report("1A", "too_cold", hours_ago=4), report("7B", "too_hot", hours_ago=1)]
MANY = [
    report(f"{floor}{line}", "too_cold", hours_ago=float(floor))
    for floor in (1, 2, 3, 7, 8, 9)
    for line in "ABCD"
]
MEASURED = [
    *FEW,
    Evidence("f_1", NOW, Found(CheckId("pump_amps"), ComponentId("pump-1"), 0.0, "A")),
    Evidence("f_2", NOW, Found(CheckId("pump_amps"), ComponentId("pump-4"), 0.7, "A")),
]


def by_enumeration(belief, homes):
    """P(onset, shared state | evidence) from the tables of these homes, state by state."""
    joint = log_prior(belief)
    for home in homes:
        joint += home.opened.log_total[:, home.kind.look_of_state]
    chances = np.exp(joint - joint.max())
    return chances / chances.sum()


@pytest.mark.parametrize("who", ["all", "those that wrote"])
@pytest.mark.parametrize("evidence", [FEW, MANY, MEASURED], ids=["few", "many", "measured"])
def test_chances_are_those_of_plain_enumeration(evidence, who):
    """Bayes' rule over all states, listed or not; like pumps apart keep their common cause.

    All homes could have written, or nobody but those that did; with their silence and without.
    """
    plant = built(house(12, "ABCD", loops=4))
    people = [Household(a.id) for a in plant.apartments if who == "all"]
    belief = diagnose(plant, evidence, people, weather(), NOW).belief
    homes = belief.homes.values()

    expected = by_enumeration(belief, homes)
    unheard = by_enumeration(belief, [home for home in homes if home.reported is not None])

    assert len(belief.listing.at) < 0.7 * len(belief.space.log_prior)
    assert belief.chances.of_all == pytest.approx(expected, abs=1e-12)
    assert belief.onsets == pytest.approx(expected.sum(axis=1), abs=1e-12)
    assert belief.chances_unheard.of_all == pytest.approx(unheard, abs=1e-12)
