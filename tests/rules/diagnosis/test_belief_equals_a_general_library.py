"""The building's posterior against a general Bayesian-network library on the same model."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pyagrum as gum
import pytest
from conftest import NOW, house, report, weather

from rules.diagnosis import diagnose
from rules.model import Answered, ApartmentId, Evidence, Household, TopicId
from tests.houses import built


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
    """Twelve and sixty homes: the joint of shared states to 1e-9.

    The network has one node for the shared state and, per home, its own state and one observed node
    that stands for everything the home said, with the tables that our own model computed.
    """
    plant = built(house(floors, lines))
    homes = [str(a.id) for a in plant.apartments]
    people = [Household(ApartmentId(h)) for h in homes]
    belief = diagnose(plant, evidence_for(homes, seed), people, weather(), NOW).belief

    # The library cannot hold thousands of joint states times sixty homes: keep the likeliest 150
    # states in both and compare what they share out among themselves.
    keep = np.argsort(-belief.states)[:150]
    onsets = np.repeat([o.chance for o in belief.times.onsets], len(belief.space.log_prior))
    prior = np.exp(np.tile(belief.space.log_prior, len(belief.times.onsets)))[keep] * onsets[keep]
    net = gum.BayesNet()
    shared = net.add(gum.RangeVariable("S", "", 0, len(keep) - 1))
    net.cpt(shared).fillWith(list(prior / prior.sum()))
    for n, home in enumerate(belief.homes.values()):
        own = net.add(gum.RangeVariable(f"L{n}", "", 0, len(home.log_prior) - 1))
        own_prior = np.exp(home.log_prior)
        net.cpt(own).fillWith(list(own_prior / own_prior.sum()))
        said = net.add(gum.RangeVariable(f"E{n}", "", 0, 1))
        net.addArc(shared, said)
        net.addArc(own, said)
        onset, state = np.divmod(keep, len(belief.space.log_prior))
        likelihood = np.exp(home.log_likelihood[onset, home.kind.look_of_state[state]])
        likelihood = likelihood / max(likelihood.max(), 1e-300)
        table = np.stack([1 - likelihood, likelihood], axis=-1)
        order = net.cpt(said).names  # in the library's own order, the node itself first
        assert order[0] == f"E{n}"
        axes = {"S": 0, f"L{n}": 1, f"E{n}": 2}
        net.cpt(said).fillWith(
            list(np.transpose(table, [axes[v] for v in reversed(order)]).reshape(-1))
        )
    engine = gum.LazyPropagation(net)
    engine.setEvidence({f"E{n}": 1 for n in range(len(belief.homes))})
    engine.addTarget("S")
    engine.makeInference()

    ours = belief.states[keep]

    assert np.asarray(engine.posterior("S").tolist()) == pytest.approx(ours / ours.sum(), abs=1e-9)
