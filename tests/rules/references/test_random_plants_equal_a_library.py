"""Random plants of 12, 60 and 200 homes: posteriors beside a general Bayesian-network library."""

from __future__ import annotations

import numpy as np
import pyagrum as gum
import pytest
from random_plants import NOW, random_evidence, random_people, random_plant, random_weather

from rules.diagnosis import diagnose

# The library cannot hold thousands of joint states times two hundred homes: the likeliest are kept in
# both, and what is compared is how they share out the chance among themselves.
KEPT = {12: 300, 60: 150, 200: 60}


def likelihood(belief, home, kept):
    """Log P(all that one home said or did not | kept state, own state)."""
    onset, state = np.divmod(kept, len(belief.space.log_prior))
    kind, keys, total = home.kind, home.keys, home.total
    look = kind.look_of_state[state]
    by_key = total.logs[onset, keys.of_look[look]][:, keys.of_own]
    return by_key + total.by_look[onset, look][:, None]


def network(belief, prior, kept):
    """One node for the shared state; per home its own state, and one observed node for what it said."""
    net = gum.BayesNet()
    shared = net.add(gum.RangeVariable("S", "", 0, len(kept) - 1))
    net.cpt(shared).fillWith(list(prior / prior.sum()))
    tables: dict[int, list[float]] = {}
    for n, home in enumerate(belief.homes.values()):
        opened = home.opened
        own = net.add(gum.RangeVariable(f"L{n}", "", 0, len(opened.log_prior) - 1))
        own_prior = np.exp(opened.log_prior)
        net.cpt(own).fillWith(list(own_prior / own_prior.sum()))
        said = net.add(gum.RangeVariable(f"E{n}", "", 0, 1))
        net.addArc(shared, said)
        net.addArc(own, said)
        order = net.cpt(said).names  # in the library's own order, the node itself first
        assert order == (f"E{n}", "S", f"L{n}")
        if id(home) not in tables:
            logs = likelihood(belief, opened, kept)
            likely = np.exp(logs - logs.max())
            values = np.stack([1 - likely, likely], axis=-1).transpose(1, 0, 2)
            tables[id(home)] = values.reshape(-1).tolist()
        net.cpt(said).fillWith(tables[id(home)])
    return net


@pytest.mark.parametrize(("homes", "seed"), [(12, 1), (12, 2), (12, 3), (60, 4), (60, 5), (200, 6)])
def test_posteriors_equal_the_library(homes, seed):
    """Shared states, and the own states of every home that complains, to 1e-9."""
    draw = np.random.default_rng(seed)
    plant = random_plant(draw, homes)
    evidence, people = random_evidence(draw, plant), random_people(draw, plant)
    belief = diagnose(plant, evidence, people, random_weather(draw), NOW).belief
    kept = np.sort(np.argsort(-belief.states)[: KEPT[homes]])
    # A check of a part that several complaining homes share weighs the shared states themselves.
    findings = np.tile(
        sum(belief.shared_terms.values(), np.zeros(len(belief.space.log_prior))),
        len(belief.times.onsets),
    )
    prior = np.exp(belief.log_prior[kept] + findings[kept])
    engine = gum.LazyPropagation(network(belief, prior, kept))
    engine.setEvidence({f"E{n}": 1 for n in range(len(belief.homes))})
    complaining = {
        n: home for n, home in enumerate(belief.homes.values()) if home.reported is not None
    }
    for name in ("S", *(f"L{n}" for n in complaining)):
        engine.addTarget(name)
    engine.makeInference()

    ours = belief.states[kept] / belief.states[kept].sum()
    assert engine.posterior("S").tolist() == pytest.approx(ours, abs=1e-9)
    onset, state = np.divmod(kept, len(belief.space.log_prior))
    for n, home in complaining.items():
        key = home.keys.of_look[home.kind.look_of_state[state]]
        own = ours @ home.own_given_key[onset, key]
        assert engine.posterior(f"L{n}").tolist() == pytest.approx(own, abs=1e-9)
