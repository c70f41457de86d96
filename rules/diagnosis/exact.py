"""Sums and products that exact inference is made of; nothing here knows what the numbers mean."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Floats",
    "ImpossibleEvidenceError",
    "Indices",
    "blocks_of",
    "gathered",
    "normalised",
    "product",
    "starts_of",
    "summed_by",
]

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]

# Multiplications that BLAS does in one thread.
_MOST_PRODUCTS = 200_000
_CACHED = 32768  # doubles
# Of so few entries all rows are added up in one call.
_FEW = 4096


class ImpossibleEvidenceError(ValueError):
    """The evidence has probability zero under the model: there is nothing to normalise."""


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
