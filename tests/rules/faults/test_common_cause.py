"""Like parts fail together: the beta factor against worked numbers, then in the states of a building."""

from __future__ import annotations

from datetime import date
from itertools import combinations

import numpy as np
import pytest

from rules.data import table
from rules.diagnosis.space import make_space
from rules.faults.priors import beta_factor, beta_of_points, split_by_cause
from tests.houses import a_boiler, a_home, a_house, a_loop, built

# IEC 61508-6, Annex D, sensors and final elements (bands from memory; the annex exists).
BANDS = [
    (130, 0.01),
    (120, 0.01),
    (119, 0.02),
    (70, 0.02),
    (69, 0.05),
    (45, 0.05),
    (44, 0.1),
    (0, 0.1),
]


@pytest.mark.parametrize(("points", "beta"), BANDS)
def test_bands_of_the_standard(points, beta):
    """Points to share, the edges of each band included."""
    assert beta_of_points(points) == beta


def test_two_of_three_and_one_of_two_as_worked():
    """p = 1e-3, beta = 0.05: an online fault-tree guide prints 5.3e-5 for two of three; computed."""
    own, common = split_by_cause(1e-3, 0.05)

    assert common + 3 * own**2 == pytest.approx(5.27075e-5, rel=1e-9)
    assert common + own**2 == pytest.approx(5.09025e-5, rel=1e-9)
    assert (common + 3 * own**2) / (3 * 1e-6) == pytest.approx(17.6, abs=0.05)


def test_every_scored_place_exists_and_homes_are_left_out():
    """What is scored are parts that several homes share; a home's own parts are on their own."""
    points = table("common_cause")["points"]

    assert set(points) == {"circulator", "loop", "riser", "relay", "transformer", "source"}
    assert all(0 < beta_factor(at) <= 0.1 for at in points)
    assert beta_factor("valve") == beta_factor("building") == 0.0


def building(installed=("2017-10", "2017-10")):
    """Two loops on one boiler, alike but for the dates of their circulators."""
    loops = [
        a_loop(n, circulator={"id": f"pump-{n}", "installed": on})
        for n, on in enumerate(installed, start=1)
    ]
    homes = [a_home(n, "A", on=n) for n in (1, 2)]
    return built(a_house(homes, loops, sources=[a_boiler(hot_water="indirect_priority")]))


def chances(plant):
    """P(shared state) by the names of its faults."""
    space = make_space(plant, date(2027, 1, 14), 22.0)
    weight = np.exp(space.log_prior)
    names = [(str(c.fault), str(c.component)) for c in space.shared]
    prior = {name: c.prior for name, c in zip(names, space.shared, strict=True)}
    by_state = {
        frozenset(names[m] for m in members if m >= 0): float(w)
        for members, w in zip(space.members, weight, strict=True)
    }
    return by_state, prior


def test_like_parts_fail_together_more_often_than_chance_has_it():
    """Both pumps seized: beta times the chance of one, plus both of their own; unlike faults do not."""
    by_state, prior = chances(building())
    none = by_state[frozenset()]
    one, two = ("pump_seized", "pump-1"), ("pump_seized", "pump-2")
    beta = beta_factor("circulator")

    both = by_state[frozenset({one, two})] / none
    assert both == pytest.approx(beta * prior[one] + (1 - beta) ** 2 * prior[one] ** 2, rel=0.02)

    unlike = by_state[frozenset({one, ("pump_coupler_broken", "pump-2")})] / none
    assert unlike == pytest.approx(prior[one] * prior["pump_coupler_broken", "pump-2"], rel=0.25)
    assert both > 5 * unlike


def test_parts_of_different_age_share_the_mean():
    """What two parts of different chance share lies between the shares of both."""
    by_state, prior = chances(building(("2005-01", "2024-01")))
    one, two = ("pump_seized", "pump-1"), ("pump_seized", "pump-2")
    both = by_state[frozenset({one, two})] / by_state[frozenset()]
    beta = beta_factor("circulator")

    assert prior[two] < prior[one]
    assert beta * prior[two] < both < beta * prior[one] + prior[one] * prior[two]


def test_each_parts_own_chance_stays_what_it_was():
    """Failing together adds nothing to how often a part fails: marginals are the priors within 2 %."""
    by_state, prior = chances(building())
    total = sum(by_state.values())

    for name, chance in prior.items():
        marginal = sum(w for state, w in by_state.items() if name in state) / total
        assert marginal == pytest.approx(chance, rel=0.02), name
    assert total == pytest.approx(1, abs=0.01)


def test_something_else_is_never_like_something_else():
    """Nobody knows what it is, so nobody knows that it is the same."""
    by_state, prior = chances(building())
    none = by_state[frozenset()]
    others = [name for name in prior if name[0] == "something_else"]

    for pair in combinations(others, 2):
        expected = prior[pair[0]] * prior[pair[1]]
        assert by_state[frozenset(pair)] / none == pytest.approx(expected, rel=0.05)
