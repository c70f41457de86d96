"""Reference networks through the product's own sum: the textbook's numbers, and a general library."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pyagrum as gum
import pytest

from rules.diagnosis.exact import ImpossibleEvidenceError
from rules.model import ApartmentId
from tests.networks import belief_of, log_evidence

# Pearl 1988 / Russell & Norvig fig. 14.2: P(B), P(E), P(A|B,E), P(J|A), P(M|A).
P_B, P_E = 0.001, 0.002
P_A = {(1, 1): 0.95, (1, 0): 0.94, (0, 1): 0.29, (0, 0): 0.001}
P_J, P_M = {1: 0.90, 0: 0.05}, {1: 0.70, 0: 0.01}


def pick(table, given, value: int) -> float:
    """P(value | given) of a two-valued child."""
    return table[given] if value else 1 - table[given]


def log(chances: np.ndarray) -> np.ndarray:
    """Zero is minus infinity."""
    with np.errstate(divide="ignore"):
        return np.log(chances)


# No fault, burglary, earthquake, both.
BURGLARY_STATES = ((0, 0), (1, 0), (0, 1), (1, 1))


def burglary(evidence: dict[str, int]) -> dict[str, float]:
    """Posteriors through the product: B and E are shared faults, A is the own state of one home."""
    prior, rows = np.zeros(4), np.zeros((4, 2))
    for n, (b, e) in enumerate(BURGLARY_STATES):
        if evidence.get("B", b) == b and evidence.get("E", e) == e:
            prior[n] = (P_B if b else 1 - P_B) * (P_E if e else 1 - P_E)
        for a in (0, 1):
            if evidence.get("A", a) == a:
                rows[n, a] = pick(P_A, (b, e), a)
                for name, table in (("J", P_J), ("M", P_M)):
                    if name in evidence:
                        rows[n, a] *= pick(table, a, evidence[name])
    belief = belief_of(log(prior), [(rows, np.arange(4))], faults=2)
    burgled, shaken = belief.chances.with_each[0]
    home, mass = belief.by_key(ApartmentId("h0"))
    own = home.by_own_state(mass.sum(axis=(0, 1)))
    return {
        "B": float(burgled),
        "E": float(shaken),
        "A": float(own[1]),
        "evidence": float(np.exp(log_evidence(belief))),
    }


def burglary_net() -> gum.BayesNet:
    """The same network in the general library."""
    net = gum.fastBN("B->A<-E;A->J;A->M", 2)
    net.cpt("B").fillWith([1 - P_B, P_B])
    net.cpt("E").fillWith([1 - P_E, P_E])
    for (b, e), p in P_A.items():
        net.cpt("A")[{"B": b, "E": e}] = [1 - p, p]
    for name, table in (("J", P_J), ("M", P_M)):
        for a, p in table.items():
            net.cpt(name)[{"A": a}] = [1 - p, p]
    return net


# Computed from the published tables (standards collection, section 3), tolerance 1e-8.
BURGLARY = [
    (
        {"J": 1, "M": 1},
        {"B": 0.284171835, "E": 0.176066838, "A": 0.760692039, "evidence": 0.0020841},
    ),
    ({"J": 1}, {"B": 0.016283730}),
    ({"A": 1}, {"B": 0.373551228}),
    ({"A": 1, "E": 1}, {"B": 0.003268424}),
    ({"J": 1, "M": 1, "E": 1}, {"B": 0.003262242}),
]


@pytest.mark.parametrize(("evidence", "expected"), BURGLARY)
def test_burglary_posteriors_are_the_published_ones(evidence, expected):
    """Burglary and earthquake: posteriors and explaining away as published."""
    found = burglary(evidence)

    for name, value in expected.items():
        assert found[name] == pytest.approx(value, abs=1e-8)


@pytest.mark.parametrize("evidence", [e for e, _ in BURGLARY])
def test_burglary_equals_the_general_library(evidence):
    """The general library gives the same posteriors to 1e-9."""
    engine = gum.LazyPropagation(burglary_net())
    engine.setEvidence(evidence)
    engine.makeInference()

    found = burglary(evidence)

    for name in {"B", "E"} - set(evidence):
        assert found[name] == pytest.approx(engine.posterior(name)[1], abs=1e-9)


# Lauritzen & Spiegelhalter 1988, as printed with common packages' examples.
ASIA_T = {1: 0.05, 0: 0.01}
ASIA_L = {1: 0.1, 0: 0.01}
ASIA_B = {1: 0.6, 0: 0.3}
ASIA_X = {1: 0.98, 0: 0.05}
ASIA_D = {(1, 1): 0.9, (1, 0): 0.7, (0, 1): 0.8, (0, 0): 0.1}
P_ASIA, P_SMOKE = 0.01, 0.5

ASIA = [
    ({"asia": 1, "smoke": 0, "D": 1}, (0.112835, 0.022567, 0.717942)),
    ({"D": 1}, (0.018845, 0.102759, 0.833967)),
    ({"asia": 1, "D": 1}, (0.087751, 0.099525, 0.811402)),
    ({"asia": 1, "D": 1, "X": 1}, (0.391712, 0.444271, 0.628822)),
    ({"asia": 1, "D": 1, "X": 0}, (0.002249, 0.002550, 0.862761)),
]


def asia(evidence: dict[str, int]) -> tuple[float, float, float]:
    """Each joint state of asia, smoke, T, L and B is one shared fault; film and breath are two homes."""
    states = list(itertools.product((0, 1), repeat=5))
    prior = np.zeros(len(states))
    for n, (a, s, t, lung, b) in enumerate(states):
        if evidence.get("asia", a) == a and evidence.get("smoke", s) == s:
            prior[n] = (P_ASIA if a else 1 - P_ASIA) * (P_SMOKE if s else 1 - P_SMOKE)
            prior[n] *= pick(ASIA_T, a, t) * pick(ASIA_L, s, lung) * pick(ASIA_B, s, b)
    either = np.array([int(t or lung) for _, _, t, lung, _ in states])
    breath = np.array([n[4] for n in states])
    homes = []
    if "X" in evidence:
        film = [[pick(ASIA_X, e, evidence["X"])] for e in (0, 1)]
        homes.append((np.array(film), either))
    if "D" in evidence:
        short = [[pick(ASIA_D, (e, b), evidence["D"])] for e in (0, 1) for b in (0, 1)]
        homes.append((np.array(short), 2 * either + breath))
    chances = belief_of(log(prior), homes, faults=len(states) - 1).states
    return tuple(float(sum(chances[n] for n, s in enumerate(states) if s[at])) for at in (2, 3, 4))


@pytest.mark.parametrize(("evidence", "expected"), ASIA)
def test_asia_posteriors_are_the_published_ones(evidence, expected):
    """Asia: tuberculosis, lung cancer and bronchitis under five sets of evidence."""
    found = asia(evidence)

    assert found == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("evidence", [e for e, _ in ASIA])
def test_asia_equals_the_general_library(evidence):
    """The general library gives the same posteriors to 1e-9."""
    net = gum.fastBN("asia->T->either<-L<-smoke;smoke->B->D<-either;either->X", 2)
    net.cpt("asia").fillWith([1 - P_ASIA, P_ASIA])
    net.cpt("smoke").fillWith([1 - P_SMOKE, P_SMOKE])
    for child, parent, table in (
        ("T", "asia", ASIA_T),
        ("L", "smoke", ASIA_L),
        ("B", "smoke", ASIA_B),
        ("X", "either", ASIA_X),
    ):
        for given, p in table.items():
            net.cpt(child)[{parent: given}] = [1 - p, p]
    for t, lung in itertools.product((0, 1), (0, 1)):
        net.cpt("either")[{"T": t, "L": lung}] = [0, 1] if t or lung else [1, 0]
    for (either, b), p in ASIA_D.items():
        net.cpt("D")[{"either": either, "B": b}] = [1 - p, p]
    engine = gum.LazyPropagation(net)
    engine.setEvidence(evidence)
    engine.makeInference()

    found = asia(evidence)

    for value, name in zip(found, ("T", "L", "B"), strict=True):
        assert value == pytest.approx(engine.posterior(name)[1], abs=1e-9)


def test_evidence_that_no_state_allows_is_refused():
    """Impossible evidence is said, not normalised away."""
    certain = np.ones((1, 1)), np.zeros(2, dtype=int)
    belief = belief_of(log(np.array([0.5, 0.5])), [certain], faults=1)
    never = replace(belief, shared_terms={"f_1": np.full(2, -np.inf)})

    assert belief.states == pytest.approx([0.5, 0.5])
    with pytest.raises(ImpossibleEvidenceError):
        _ = never.chances
