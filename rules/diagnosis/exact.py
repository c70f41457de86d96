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

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Floats",
    "HomeTable",
    "Homes",
    "ImpossibleEvidenceError",
    "Indices",
    "Posterior",
    "blocks_of",
    "gathered",
    "infer",
    "log_sum_exp",
    "normalised",
    "product",
    "starts_of",
    "summed_by",
]

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]

# Multiplications that BLAS does in one thread.
_MOST_PRODUCTS = 200_000
_LEAST = 1e-300
_CACHED = 16384  # doubles
# Of so few entries all rows are added up in one call.
_FEW = 4096


class ImpossibleEvidenceError(ValueError):
    """The evidence has probability zero under the model: there is nothing to normalise."""


@dataclass(frozen=True, eq=False)
class HomeTable:
    """One home: log P(l | look) + log P(evidence | look, l), and which look each shared state has.

    Shapes: ``log_joint`` (looks, own states), ``look`` (shared states,).
    """

    log_joint: Floats
    look: Indices

    @property
    def log_total(self) -> Floats:
        """Log P(evidence of this home | look)."""
        return log_sum_exp(self.log_joint)


@dataclass(frozen=True, eq=False)
class Homes:
    """The tables of several homes side by side; homes that are equal stand there once.

    A row of a table (a look) is a column here: sums over own states then run along whole rows.
    """

    joint: (
        Floats  # (own states, columns): P(own state, evidence | look), the largest of a look is 1
    )
    log_scale: Floats  # (columns,): log of what that largest is
    look: Indices  # (distinct homes, shared states): column of each
    starts: Indices  # (distinct homes,): first column of each
    count: Floats  # (distinct homes,): how many homes are equal to it

    @staticmethod
    def of(tables: Iterable[HomeTable]) -> Homes:
        """Equal are those homes that are one object."""
        counted = Counter(tables)
        if not counted:
            nothing = np.zeros(0, dtype=np.intp)
            none = np.zeros(0)
            return Homes(none.reshape(1, 0), none, nothing.reshape(0, 0), nothing, none)
        ends = np.cumsum([len(t.log_joint) for t in counted])
        starts = ends - [len(t.log_joint) for t in counted]
        widest = max(t.log_joint.shape[1] for t in counted)
        log_joint = np.full((widest, int(ends[-1])), -np.inf)
        for t, start, end in zip(counted, starts, ends, strict=True):
            log_joint[: t.log_joint.shape[1], start:end] = t.log_joint.T
        look = np.stack([t.look + start for t, start in zip(counted, starts, strict=True)])
        scale = log_joint.max(axis=0)
        scale[~np.isfinite(scale)] = 0.0
        count = np.array([*counted.values()], dtype=np.float64)
        return Homes(np.exp(log_joint - scale), scale, look, starts, count)


@dataclass(frozen=True, eq=False)
class Posterior:
    """P(shared state | evidence), and what the homes' own states are given it."""

    homes: Homes
    shared: Floats  # (shared states,)
    log_evidence: float
    said: Floats  # (columns,): P(evidence of the home | look), scaled as the tables are

    @property
    def own(self) -> Floats:
        """P(own state | evidence); (distinct homes, own states)."""
        look = self.homes.look
        mass = np.broadcast_to(self.shared, look.shape).reshape(-1)
        by_look = gathered(look.reshape(-1), mass, len(self.said)) / np.maximum(self.said, _LEAST)
        own: Floats = np.add.reduceat(self.homes.joint * by_look, self.homes.starts, axis=1).T
        return own

    def local(self, at: int) -> Floats:
        """P(shared state, own state | evidence) of one distinct home; (shared states, own states)."""
        look = self.homes.look[at]
        given: Floats = self.homes.joint[:, look] / np.maximum(self.said[look], _LEAST)
        return (self.shared * given).T


def infer(log_prior: Floats, homes: Homes | Iterable[HomeTable]) -> Posterior:
    """Posterior over the shared states.

    Args:
        log_prior: log P(s), need not be normalised, shape (shared states,).
        homes: tables of all homes that have something to say.

    Raises:
        ImpossibleEvidenceError: no shared state allows the evidence.
    """
    if not isinstance(homes, Homes):
        homes = Homes.of(homes)
    said: Floats = homes.joint.sum(axis=0)
    joint = log_prior
    if len(homes.count):
        with np.errstate(divide="ignore"):
            log_total = np.log(said) + homes.log_scale
        joint = joint + np.einsum("h,hs->s", homes.count, log_total.take(homes.look))
    log_weight = float(log_sum_exp(joint))
    if not np.isfinite(log_weight):
        raise ImpossibleEvidenceError("the evidence cannot occur under any state of the model")
    log_evidence = log_weight - float(log_sum_exp(log_prior))
    return Posterior(homes, np.exp(joint - log_weight), log_evidence, said)


def log_sum_exp(rows: Floats) -> Floats:
    """Log of the sum of exponentials along the last axis; -inf where all entries are -inf."""
    top = rows.max(axis=-1, keepdims=True)
    safe = np.where(np.isfinite(top), top, 0.0)
    with np.errstate(divide="ignore"):
        total: Floats = np.log(np.exp(rows - safe).sum(axis=-1)) + safe[..., 0]
    return total


def normalised(log_weights: Floats) -> Floats:
    """Probabilities from log weights.

    Raises:
        ImpossibleEvidenceError: all weights are zero.
    """
    top = float(log_weights.max())
    if not np.isfinite(top):
        raise ImpossibleEvidenceError("the evidence cannot occur under any state of the model")
    chances: Floats = log_weights - top
    np.exp(chances, out=chances)
    chances /= chances.sum()
    return chances


def gathered(index: Indices, mass: Floats, length: int) -> Floats:
    """Mass by number: entry n is the sum of the mass whose index is n."""
    return np.bincount(index, mass, length).astype(np.float64, copy=False)


def summed_by(index: Indices, mass: Floats, length: int) -> Floats:
    """The same in each row: shapes index (entries,), mass (rows, entries), result (rows, length)."""
    rows = len(mass)
    if len(index) > _FEW:
        return np.stack([gathered(index, row, length) for row in mass])
    places = np.add.outer(np.arange(rows) * length, index).reshape(-1)
    return gathered(places, mass.reshape(-1), rows * length).reshape(rows, length)


def blocks_of(rows: int, columns: int) -> list[slice]:
    """Rows in blocks small enough that several arrays of one block stay in the processor's cache."""
    step = max(_CACHED // max(columns, 1), 1)
    return [slice(at, min(at + step, rows)) for at in range(0, rows, step)]


def starts_of(numbers: Indices) -> Indices:
    """Where each of some numbers begins, of which equal ones stand together."""
    return np.append(0, np.flatnonzero(numbers[1:] != numbers[:-1]) + 1)


def product(left: Floats, right: Floats) -> Floats:
    """Matrix product of (..., rows, inner) and (inner, columns), in blocks of rows.

    BLAS computes blocks of this size in one thread; its threads would wait for each other longer than
    the whole product takes.
    """
    rows = left.reshape(math.prod(left.shape[:-1]), left.shape[-1])
    made = np.empty((len(rows), right.shape[1]))
    step = max(_MOST_PRODUCTS // max(right.size, 1), 1)
    for at in range(0, len(rows), step):
        np.matmul(rows[at : at + step], right, out=made[at : at + step])
    return made.reshape(*left.shape[:-1], right.shape[1])
