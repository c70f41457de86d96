"""Random plants of 12, 60 and 200 homes: posteriors beside a general Bayesian-network library."""

from __future__ import annotations

import numpy as np
import pytest
from random_plants import NOW, random_evidence, random_people, random_plant, random_weather

from rules.diagnosis import diagnose
from tests.networks import network, posteriors

# The library cannot hold thousands of joint states times two hundred homes: the likeliest are kept in
# both, and what is compared is how they share out the chance among themselves.
KEPT = {12: 300, 60: 150, 200: 60}


@pytest.mark.parametrize(("homes", "seed"), [(12, 1), (12, 2), (12, 3), (60, 4), (60, 5), (200, 6)])
def test_posteriors_equal_the_library(homes, seed):
    """Shared states, and the own states of every home that complains, to 1e-9."""
    draw = np.random.default_rng(seed)
    plant = random_plant(draw, homes)
    evidence, people = random_evidence(draw, plant), random_people(draw, plant)
    belief = diagnose(plant, evidence, people, random_weather(draw), NOW).belief
    kept = np.sort(np.argsort(-belief.states)[: KEPT[homes]])
    complaining = {
        n: home for n, home in enumerate(belief.homes.values()) if home.reported is not None
    }
    shared, *own = posteriors(network(belief, kept), ["S", *(f"L{n}" for n in complaining)])

    ours = belief.states[kept] / belief.states[kept].sum()
    assert ours == pytest.approx(shared, abs=1e-9)
    onset, state = np.divmod(kept, len(belief.space.log_prior))
    for home, expected in zip(complaining.values(), own, strict=True):
        key = home.keys.of_look[home.kind.look_of_state[state]]
        assert ours @ home.own_given_key[onset, key] == pytest.approx(expected, abs=1e-9)


def test_all_states_of_a_small_plant_equal_the_library():
    """Nothing left out: every onset with every shared state, and every own state of each complaint."""
    draw = np.random.default_rng(7)
    plant = random_plant(draw, 3)
    evidence, people = random_evidence(draw, plant), random_people(draw, plant)
    belief = diagnose(plant, evidence, people, random_weather(draw), NOW).belief
    names = {a: f"L{n}" for n, (a, h) in enumerate(belief.homes.items()) if h.reported is not None}
    net = network(belief, np.arange(belief.states.size))
    shared, *own = posteriors(net, ["S", *names.values()])

    assert belief.states == pytest.approx(shared, abs=1e-9)
    for apartment, expected in zip(names, own, strict=True):
        home, mass = belief.by_key(apartment)
        ours = home.by_own_state(mass.sum(axis=(0, 1)))
        assert ours == pytest.approx(expected, abs=1e-9)
