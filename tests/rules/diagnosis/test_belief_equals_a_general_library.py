"""The building's posterior against a general Bayesian-network library on the same model."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from conftest import NOW, house, report, weather

from rules.diagnosis import diagnose
from rules.model import Answered, ApartmentId, Evidence, Household, TopicId
from tests.houses import built
from tests.networks import network, posteriors


def evidence_for(apartments, seed):
    """Some complaints and answers, drawn at random."""
    draw = np.random.default_rng(seed)
    picked = draw.choice(len(apartments), size=min(4, len(apartments)), replace=False)
    found = []
    for n, at in enumerate(picked):
        home = apartments[at]
        kind = "too_cold" if draw.random() < 0.7 else "too_hot"
        found.append(report(home, kind, hours_ago=float(n)))
        if draw.random() < 0.5:
            found.append(
                Evidence(
                    f"a_{home}",
                    NOW - timedelta(minutes=5),
                    Answered(
                        ApartmentId(home), TopicId("q_hot"), str(draw.choice(["hot", "cold"]))
                    ),
                )
            )
    return found


@pytest.mark.parametrize(
    ("floors", "lines", "seed"), [(4, "ABC", 1), (4, "ABC", 2), (6, "ABCDEFGHIJ", 3)]
)
def test_posterior_of_shared_states_equals_the_library(floors, lines, seed):
    """Twelve and sixty homes: the joint of onset and shared state to 1e-9.

    The library cannot hold thousands of states times sixty homes: the likeliest 150 are kept in both,
    and what is compared is how they share out the chance among themselves.
    """
    plant = built(house(floors, lines))
    homes = [str(a.id) for a in plant.apartments]
    people = [Household(ApartmentId(h)) for h in homes]
    belief = diagnose(plant, evidence_for(homes, seed), people, weather(), NOW).belief
    kept = np.argsort(-belief.states)[:150]
    (shared,) = posteriors(network(belief, kept), ["S"])

    ours = belief.states[kept]

    assert ours / ours.sum() == pytest.approx(shared, abs=1e-9)
