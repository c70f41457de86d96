"""Logistic regression with a quadratic penalty over clues, by a general-purpose minimizer (SciPy)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from collections.abc import Set as AbstractSet
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.sparse import csr_matrix

__all__ = ["Floats", "fitted", "known_clues", "matrix"]

Floats = NDArray[np.float64]
_STEPS = 60
_SLOPE = 1e-2


def known_clues(told: Iterable[AbstractSet[str]], seen_at_least: int) -> list[str]:
    """The clues of at least so many texts, in the order of the alphabet."""
    seen = Counter(clue for row in told for clue in row)
    return sorted(clue for clue, times in seen.items() if times >= seen_at_least)


def matrix(
    told: Sequence[AbstractSet[str]],
    known: Sequence[str],
    value: Callable[[str], float] = lambda _: 1.0,
) -> Any:
    """A row for each text, a column for each known clue."""
    place = {clue: n for n, clue in enumerate(known)}
    values = np.array([value(clue) for clue in known])
    rows = [sorted(place[clue] for clue in row & place.keys()) for row in told]
    columns = np.array([n for row in rows for n in row], dtype=np.int64)
    ends = np.concatenate([[0], np.cumsum([len(row) for row in rows])])
    return csr_matrix((values[columns], columns, ends), shape=(len(rows), len(known)))


def fitted(
    told: Any, right: NDArray[np.bool_], penalty: float, counts: Floats | None = None
) -> tuple[Floats, float]:
    """Weights and bias at which the loss, rows ``counts`` times, and half the penalty are least."""
    often = np.ones(told.shape[0]) if counts is None else counts
    side = np.where(right, 1.0, -1.0)
    turned = told.T.tocsr()

    def loss(at: Floats) -> tuple[float, Floats]:
        margin = side * (told @ at[:-1] + at[-1])
        miss = -side * often / (1 + np.exp(np.clip(margin, -500, 500)))
        slope = np.append(turned @ miss + penalty * at[:-1], miss.sum())
        cost = float((often * np.logaddexp(0, -margin)).sum() + penalty / 2 * at[:-1] @ at[:-1])
        return cost, slope

    start = np.zeros(told.shape[1] + 1)
    options = {"maxiter": _STEPS, "gtol": _SLOPE, "maxcor": 20}
    found = minimize(loss, start, jac=True, method="L-BFGS-B", options=options)
    return found.x[:-1], float(found.x[-1])
