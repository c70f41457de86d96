"""Linear weights of clues with a quadratic penalty, by a general-purpose minimizer (SciPy).

A loss says what a row costs at a margin, above zero where it is told rightly, and how that changes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.sparse import csr_matrix

__all__ = [
    "Floats",
    "Loss",
    "fitted",
    "fitted_together",
    "known_clues",
    "logistic",
    "matrix",
    "squared_hinge",
]

Floats = NDArray[np.float64]
Loss = Callable[[Floats], tuple[Floats, Floats]]
_STEPS = 60
_SLOPE = 1e-2


def known_clues(told: Iterable[AbstractSet[str]], seen_at_least: int) -> list[str]:
    """The clues of at least so many texts, in the order of the alphabet."""
    seen = Counter(clue for row in told for clue in row)
    return sorted(clue for clue, times in seen.items() if times >= seen_at_least)


def matrix(
    told: Sequence[AbstractSet[str] | Mapping[str, int]],
    known: Sequence[str],
    value: Callable[[str], float] = lambda _: 1.0,
) -> Any:
    """A row for each text, a column for each known clue: how often it is found, times its value."""
    place = {clue: n for n, clue in enumerate(known)}
    values = np.array([value(clue) for clue in known])
    rows = [
        sorted((place[clue], often) for clue, often in _counted(row) if clue in place)
        for row in told
    ]
    columns = np.array([n for row in rows for n, _ in row], dtype=np.int64)
    often = np.array([times for row in rows for _, times in row], dtype=np.float64)
    ends = np.concatenate([[0], np.cumsum([len(row) for row in rows])])
    return csr_matrix((values[columns] * often, columns, ends), shape=(len(rows), len(known)))


def _counted(row: AbstractSet[str] | Mapping[str, int]) -> Iterable[tuple[str, int]]:
    return row.items() if isinstance(row, Mapping) else ((clue, 1) for clue in row)


def logistic(margin: Floats) -> tuple[Floats, Floats]:
    """The loss of logistic regression: minus the logarithm of how likely the row was."""
    return np.logaddexp(0, -margin), -1 / (1 + np.exp(np.clip(margin, -500, 500)))


def squared_hinge(margin: Floats) -> tuple[Floats, Floats]:
    """The square of what a margin is short of one; rows that are plain teach nothing more."""
    short = np.maximum(0, 1 - margin)
    return short**2, -2 * short


def fitted(
    told: Any, right: NDArray[np.bool_], penalty: float, counts: Floats | None = None
) -> tuple[Floats, float]:
    """Weights and bias where logistic loss, rows ``counts`` times, and half the penalty are least."""
    weights, biases = fitted_together(told, right[:, None], penalty, counts)
    return weights[:, 0], float(biases[0])


def fitted_together(
    told: Any,
    right: NDArray[np.bool_],
    penalty: float,
    counts: Floats | None = None,
    loss: Loss = logistic,
    free: NDArray[np.bool_] | None = None,
) -> tuple[Floats, Floats]:
    """The same for several labels at once, a column each: one pass over the clues for all.

    Weights that are not ``free``, a clue a row and a label a column, stay zero.
    """
    often = np.ones((told.shape[0], 1)) if counts is None else counts[:, None]
    side = np.where(right, 1.0, -1.0)
    turned = told.T.tocsr()
    may = 1.0 if free is None else free.astype(np.float64)

    def total(at: Floats) -> tuple[float, Floats]:
        table = at.reshape(shape)
        weights, biases = table[:-1], table[-1]
        costs, slopes = loss(side * (told @ weights + biases))
        miss = side * often * slopes
        slope = np.vstack([(turned @ miss + penalty * weights) * may, miss.sum(axis=0)])
        return float((often * costs).sum() + penalty / 2 * (weights**2).sum()), slope.ravel()

    shape = (told.shape[1] + 1, right.shape[1])
    options = {"maxiter": _STEPS, "gtol": _SLOPE, "maxcor": 10}
    found = minimize(total, np.zeros(shape).ravel(), jac=True, method="L-BFGS-B", options=options)
    table = found.x.reshape(shape)
    return table[:-1], table[-1]
