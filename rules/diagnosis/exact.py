"""Exact inference for a model of shared causes and homes that are independent given them.

Theory of operation
-------------------
The joint state of what several homes share is enumerated (all of it: the caller lists the states).
Given that state the homes are independent, and within a home its own state is enumerated too. So

    P(s | E)     is proportional to  P(s) * product over homes of sum over l of P(l | s) P(E_home | s, l)
    P(l | s, E)  is proportional to  P(l | s) P(E_home | s, l)

computed in log space. Many shared states look alike from one home, so a home's table has one row per
distinct look and an index from shared state to row. Nothing is approximated.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Floats",
    "Heard",
    "HomeTable",
    "ImpossibleEvidenceError",
    "Indices",
    "Posterior",
    "gathered",
    "infer",
    "log_joint",
    "log_sum_exp",
    "normalised",
]

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]


class ImpossibleEvidenceError(ValueError):
    """The evidence has probability zero under the model: there is nothing to normalise."""


@dataclass(frozen=True, eq=False)
class HomeTable:
    """One home: log P(l | look) + log P(evidence | look, l), and which look each shared state has.

    Shapes: ``log_joint`` (looks, own states), ``look`` (shared states,).
    """

    log_joint: Floats
    look: Indices

    @cached_property
    def log_total(self) -> Floats:
        """Log P(evidence of this home | look)."""
        return log_sum_exp(self.log_joint)

    @cached_property
    def own_given_look(self) -> Floats:
        """P(own state | look, evidence)."""
        return np.exp(self.log_joint - self.log_total[:, None])


@dataclass(frozen=True, eq=False, slots=True)
class Posterior:
    """P(shared state | evidence), and log of the probability of the evidence."""

    shared: Floats
    log_evidence: float

    def local(self, home: HomeTable) -> Floats:
        """P(shared state, own state | evidence), shape (shared states, own states)."""
        joint: Floats = self.shared[:, None] * home.own_given_look[home.look]
        return joint


def log_sum_exp(rows: Floats) -> Floats:
    """Log of the sum of exponentials along the last axis; -inf where all entries are -inf."""
    top = rows.max(axis=-1, keepdims=True)
    safe = np.where(np.isfinite(top), top, 0.0)
    with np.errstate(divide="ignore"):
        total: Floats = np.log(np.exp(rows - safe).sum(axis=-1)) + safe[..., 0]
    return total


class Heard(Protocol):
    """What the shared states need to know of a home: its total by look, and the looks."""

    @property
    def log_total(self) -> Floats:
        """Log P(evidence of this home | look)."""
        ...

    @property
    def look(self) -> Indices:
        """Which look each shared state has."""
        ...


def log_joint(log_prior: Floats, homes: Iterable[Heard]) -> Floats:
    """Log P(shared state, evidence), shape (shared states,)."""
    # Homes that share an index of looks are added up first and spread over the states once.
    by_index: dict[int, tuple[Indices, Floats]] = {}
    for home in homes:
        index, so_far = by_index.get(id(home.look), (home.look, np.zeros(len(home.log_total))))
        by_index[id(home.look)] = (index, so_far + home.log_total)
    total = log_prior.copy()
    for index, summed in by_index.values():
        total += summed[index]
    return total


def normalised(log_weights: Floats) -> Floats:
    """Probabilities from log weights.

    Raises:
        ImpossibleEvidenceError: all weights are zero.
    """
    total = float(log_sum_exp(log_weights[None, :])[0])
    if not np.isfinite(total):
        raise ImpossibleEvidenceError("the evidence cannot occur under any state of the model")
    chances: Floats = np.exp(log_weights - total)
    return chances


def gathered(index: Indices, mass: Floats, length: int) -> Floats:
    """Mass by number: entry n is the sum of the mass whose index is n."""
    return np.bincount(index, mass, length).astype(np.float64, copy=False)


def infer(log_prior: Floats, homes: Iterable[HomeTable]) -> Posterior:
    """Posterior over the shared states.

    Args:
        log_prior: log P(s), need not be normalised, shape (shared states,).
        homes: tables of all homes that have something to say.

    Raises:
        ImpossibleEvidenceError: no shared state allows the evidence.
    """
    joint = log_joint(log_prior, homes)
    chances = normalised(joint)
    evidence = float(log_sum_exp(joint[None, :])[0]) - float(log_sum_exp(log_prior[None, :])[0])
    return Posterior(shared=chances, log_evidence=evidence)
