"""Reference networks: the textbook's numbers, and a general Bayesian-network library, both."""

from __future__ import annotations

import itertools

import numpy as np
import pyagrum as gum
import pytest

from rules.diagnosis.exact import HomeTable, ImpossibleEvidenceError, infer

# Pearl 1988 / Russell & Norvig fig. 14.2: P(B), P(E), P(A|B,E), P(J|A), P(M|A).
P_B, P_E = 0.001, 0.002
P_A = {(1, 1): 0.95, (1, 0): 0.94, (0, 1): 0.29, (0, 0): 0.001}
P_J, P_M = {1: 0.90, 0: 0.05}, {1: 0.70, 0: 0.01}


def burglary(evidence: dict[str, int]) -> dict[str, float]:
    """Posteriors through our own inference: shared states (B, E), one home whose own state is A."""
    states = list(itertools.product((0, 1), (0, 1)))
    log_prior = np.array(
        [np.log((P_B if b else 1 - P_B) * (P_E if e else 1 - P_E)) for b, e in states]
    )
    for n, (b, e) in enumerate(states):
        if evidence.get("B", b) != b or evidence.get("E", e) != e:
            log_prior[n] = -np.inf
    rows = np.zeros((4, 2))
    for n, (b, e) in enumerate(states):
        for a in (0, 1):
            p = P_A[b, e] if a else 1 - P_A[b, e]
            if evidence.get("A", a) != a:
                p = 0.0
            for name, table in (("J", P_J), ("M", P_M)):
                if name in evidence:
                    p *= table[a] if evidence[name] else 1 - table[a]
            rows[n, a] = np.log(p) if p > 0 else -np.inf
    home = HomeTable(rows, np.arange(4))
    post = infer(log_prior, [home])
    local = post.local(0) if "A" not in evidence else None
    return {
        "B": sum(post.shared[n] for n, (b, _) in enumerate(states) if b),
        "E": sum(post.shared[n] for n, (_, e) in enumerate(states) if e),
        "A": float(local[:, 1].sum()) if local is not None else float(evidence["A"]),
        "evidence": float(np.exp(post.log_evidence)),
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


def pick(table: dict[int, float], given: int, value: int) -> float:
    """P(value | given) of a two-valued child."""
    return table[given] if value else 1 - table[given]


def asia(evidence: dict[str, int]) -> tuple[tuple[float, float, float], float]:
    """Shared states (asia, smoke, T, L, B); the film and the breath are two homes of one state."""
    states = list(itertools.product((0, 1), repeat=5))
    log_prior = np.full(len(states), -np.inf)
    for n, (a, s, t, lung, b) in enumerate(states):
        if evidence.get("asia", a) != a or evidence.get("smoke", s) != s:
            continue
        p = (P_ASIA if a else 1 - P_ASIA) * (P_SMOKE if s else 1 - P_SMOKE)
        p *= pick(ASIA_T, a, t) * pick(ASIA_L, s, lung) * pick(ASIA_B, s, b)
        log_prior[n] = np.log(p)
    looks = {"X": np.zeros((2, 1)), "D": np.zeros((4, 1))}
    index = {"X": np.zeros(len(states), int), "D": np.zeros(len(states), int)}
    for n, (_, _, t, lung, b) in enumerate(states):
        either = int(t or lung)
        index["X"][n], index["D"][n] = either, 2 * either + b
    if "X" in evidence:
        for either in (0, 1):
            looks["X"][either, 0] = np.log(pick(ASIA_X, either, evidence["X"]))
    if "D" in evidence:
        for (either, b), p in ASIA_D.items():
            looks["D"][2 * either + b, 0] = np.log(p if evidence["D"] else 1 - p)
    post = infer(log_prior, [HomeTable(looks[k], index[k]) for k in ("X", "D")])
    marginals = tuple(
        float(sum(post.shared[n] for n, s in enumerate(states) if s[at])) for at in (2, 3, 4)
    )
    return marginals, post.log_evidence


@pytest.mark.parametrize(("evidence", "expected"), ASIA)
def test_asia_posteriors_are_the_published_ones(evidence, expected):
    """Asia: tuberculosis, lung cancer and bronchitis under five sets of evidence."""
    found, _ = asia(evidence)

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

    found, _ = asia(evidence)

    for value, name in zip(found, ("T", "L", "B"), strict=True):
        assert value == pytest.approx(engine.posterior(name)[1], abs=1e-9)


def test_evidence_that_no_state_allows_is_refused():
    """ImpossibleEvidenceError evidence is said, not normalised away."""
    nowhere = HomeTable(np.full((1, 1), -np.inf), np.zeros(2, dtype=int))

    with pytest.raises(ImpossibleEvidenceError):
        infer(np.log(np.array([0.5, 0.5])), [nowhere])
