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

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["HomeTable", "ImpossibleEvidenceError", "Posterior", "infer", "log_sum_exp"]

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]


class ImpossibleEvidenceError(ValueError):
    """The evidence has probability zero under the model: there is nothing to normalise."""


@dataclass(frozen=True, eq=False, slots=True)
class HomeTable:
    """One home: log P(l | look) + log P(evidence | look, l), and which look each shared state has.

    Shapes: ``log_joint`` (looks, local states), ``look`` (shared states,).
    """

    log_joint: Floats
    look: Indices


@dataclass(frozen=True, eq=False, slots=True)
class Posterior:
    """P(shared state | evidence), and log of the probability of the evidence."""

    shared: Floats
    log_evidence: float

    def local(self, home: HomeTable) -> Floats:
        """P(shared state, local state | evidence), shape (shared states, local states)."""
        rows = home.log_joint - log_sum_exp(home.log_joint)[:, None]
        joint: Floats = self.shared[:, None] * np.exp(rows)[home.look]
        return joint


def log_sum_exp(rows: Floats) -> Floats:
    """Log of the sum of exponentials along the last axis; -inf where all entries are -inf."""
    top = rows.max(axis=-1, keepdims=True)
    safe = np.where(np.isfinite(top), top, 0.0)
    with np.errstate(divide="ignore"):
        total: Floats = np.log(np.exp(rows - safe).sum(axis=-1)) + safe[..., 0]
    return total


def infer(log_prior: Floats, homes: Sequence[HomeTable]) -> Posterior:
    """Posterior over the shared states.

    Args:
        log_prior: log P(s), need not be normalised, shape (shared states,).
        homes: tables of all homes that have something to say.

    Raises:
        ImpossibleEvidenceError: no shared state allows the evidence.
    """
    log_joint = log_prior.copy()
    for home in homes:
        log_joint += log_sum_exp(home.log_joint)[home.look]
    total = float(log_sum_exp(log_joint[None, :])[0])
    if not np.isfinite(total):
        raise ImpossibleEvidenceError("the evidence cannot occur under any state of the model")
    prior_total = float(log_sum_exp(log_prior[None, :])[0])
    return Posterior(shared=np.exp(log_joint - total), log_evidence=total - prior_total)
