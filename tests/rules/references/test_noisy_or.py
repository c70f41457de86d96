"""Causes that combine by noisy-or, against published tables and a second way of computing them.

Production turns chances into rates, adds them and turns the sum back (``as_rate``, ``as_chance``), or
merges two rows of the control chain; posteriors are those of a belief. The second way is the Quickscore
algorithm (Heckerman, UAI 1989), written out here, and whole numbers.
"""

from __future__ import annotations

import itertools
import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rules.diagnosis.reporting import as_chance, as_rate
from rules.heat.columns import column, merge, row
from tests.networks import belief_of, log_evidence

# N1: Russell & Norvig's fever table: inhibitions of cold .6, flu .2, malaria .1 (table from memory).
LINKS = {"cold": 0.4, "flu": 0.8, "malaria": 0.9}
FEVER = [
    ((), 0.0),
    (("cold",), 0.4),
    (("flu",), 0.8),
    (("malaria",), 0.9),
    (("cold", "flu"), 0.88),
    (("cold", "malaria"), 0.94),
    (("flu", "malaria"), 0.98),
    (("cold", "flu", "malaria"), 0.988),
]


@pytest.mark.parametrize(("causes", "chance"), FEVER)
def test_fever_table_by_rates(causes, chance):
    """Rates of separate causes add up to the published chance of fever."""
    rate = sum((as_rate(np.array(LINKS[c])) for c in causes), np.array(0.0))

    assert float(as_chance(rate)) == pytest.approx(chance, abs=1e-12)


@pytest.mark.parametrize(("causes", "chance"), FEVER)
def test_fever_table_by_merging_rows(causes, chance):
    """Two faults heard in one home are heard as often as the published table says of two causes."""
    state = row({})
    for cause in causes:
        state = merge(state, row({"noise_hum": LINKS[cause]}))

    assert float(column(state, "noise_hum")) == pytest.approx(chance, abs=1e-12)


# N2 to N5: priors, leaks and links (cause by finding); results computed by hand from the formula of a
# two-level noisy-or network and checked with a general library.
PRIORS = (0.02, 0.05, 0.10)
LEAKS = (0.01, 0.02, 0.05, 0.01)
WEIGHTS = ((0.9, 0.8, 0.0, 0.3), (0.0, 0.7, 0.6, 0.0), (0.2, 0.0, 0.5, 0.9))
CASES = [
    ((0,), (), 0.0472636, (0.382104, 0.050000, 0.470248)),
    ((0, 1), (2,), 0.01334077, (0.955160, 0.042090, 0.075355)),
    ((2, 3), (0,), 0.03851873, (0.003179, 0.081152, 0.981090)),
    ((0, 1, 2, 3), (), 0.00179840, (0.605008, 0.410184, 0.812372)),
]


def posterior(priors, leaks, weights, there, absent):
    """P(evidence) and P(cause | evidence) by the product's sum and its rates.

    Each joint state of the causes stands for one shared fault, each finding for one home.
    """
    states = list(itertools.product((0, 1), repeat=len(priors)))
    log_prior = np.array(
        [
            math.fsum(math.log(p if on else 1 - p) for p, on in zip(priors, s, strict=True))
            for s in states
        ]
    )
    homes = []
    for finding in (*there, *absent):
        rates = np.array(
            [
                as_rate(np.array(leaks[finding]))
                + sum(as_rate(np.array(weights[n][finding])) for n, on in enumerate(s) if on)
                for s in states
            ]
        )
        chance = as_chance(rates) if finding in there else np.exp(-rates)
        homes.append((chance[:, None], np.arange(len(states))))
    found = belief_of(log_prior, homes, faults=len(states) - 1)
    by_cause = [
        float(sum(found.states[k] for k, s in enumerate(states) if s[n]))
        for n in range(len(priors))
    ]
    return math.exp(log_evidence(found)), by_cause, found.states


@pytest.mark.parametrize(("there", "absent", "evidence", "expected"), CASES)
def test_two_level_network(there, absent, evidence, expected):
    """Probability of the findings and of each cause as computed from the formula."""
    found, causes, _ = posterior(PRIORS, LEAKS, WEIGHTS, there, absent)

    assert found == pytest.approx(evidence, rel=2e-6)
    assert causes == pytest.approx(expected, abs=1e-6)


def quickscore(priors, leaks, weights, there, absent):
    """P(evidence): over subsets S of what is there, (-1)^|S| times the chance that S is absent too."""
    total = 0.0
    for size in range(len(there) + 1):
        for extra in itertools.combinations(there, size):
            quiet = (*extra, *absent)
            term = math.prod(1 - leaks[f] for f in quiet)
            for p, links in zip(priors, weights, strict=True):
                term *= p * math.prod(1 - links[f] for f in quiet) + 1 - p
            total += (-1) ** size * term
    return total


@st.composite
def networks(draw):
    """Up to seven causes, up to eight findings there, up to three absent."""
    causes, there, absent = (
        draw(st.integers(1, 7)),
        draw(st.integers(0, 8)),
        draw(st.integers(0, 3)),
    )
    chance = st.floats(0.01, 0.95)
    findings = there + absent
    weight = st.lists(chance, min_size=findings, max_size=findings)
    return (
        draw(st.lists(st.floats(0.01, 0.5), min_size=causes, max_size=causes)),
        draw(weight),
        draw(st.lists(weight, min_size=causes, max_size=causes)),
        tuple(range(there)),
        tuple(range(there, findings)),
    )


@settings(max_examples=30)
@given(networks())
def test_quickscore_equals_enumeration(network):
    """Two ways that share nothing: an alternating sum over findings, a sum over states of causes."""
    priors, leaks, weights, there, absent = network
    found, causes, _ = posterior(priors, leaks, weights, there, absent)

    assert found == pytest.approx(quickscore(*network), abs=1e-10)
    for n, chance in enumerate(causes):
        certain = [1.0 if k == n else p for k, p in enumerate(priors)]
        joint = priors[n] * quickscore(certain, leaks, weights, there, absent)
        assert chance * found == pytest.approx(joint, abs=1e-10)


def test_twenty_two_findings_with_tiny_leaks_stay_probabilities():
    """Where the alternating sum loses its digits ours agrees with whole numbers, and stays in [0, 1]."""
    priors = [Fraction(1, 50), Fraction(1, 20), Fraction(1, 10)]
    findings = range(22)
    leaks = [Fraction(1, 10**6)] * 22
    weights = [[Fraction(1 + (3 * n + f) % 9, 10) for f in findings] for n in range(3)]

    exact = {}
    for s in itertools.product((0, 1), repeat=3):
        mass = math.prod(p if on else 1 - p for p, on in zip(priors, s, strict=True))
        for f in findings:
            quiet = math.prod(1 - weights[n][f] for n in range(3) if s[n])
            mass *= 1 - (1 - leaks[f]) * quiet
        exact[s] = mass
    total = sum(exact.values())
    as_floats = [[float(w) for w in links] for links in weights]

    found, causes, states = posterior(
        [float(p) for p in priors], [float(x) for x in leaks], as_floats, tuple(findings), ()
    )

    assert found == pytest.approx(float(total), rel=1e-9)
    for n, chance in enumerate(causes):
        expected = float(sum(mass for s, mass in exact.items() if s[n]) / total)
        assert chance == pytest.approx(expected, abs=1e-9)
        assert 0 <= chance <= 1 + 1e-12
    assert float(states.sum()) == pytest.approx(1, abs=1e-12)
