"""Linear weights of clues with a quadratic penalty, by Newton's method.

A loss says what a row costs at a margin, above zero where it is told rightly, how that changes, and how
fast the change changes. Each step goes where the parabola that fits is least, found nearly by conjugate
gradients, and is halved until the cost falls (line search Newton-CG, a textbook's, written from memory).
Only rows that still bend the cost are looked at.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from typing import Any

import numpy as np
from numpy.typing import NDArray
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
Loss = Callable[[Floats], tuple[Floats, Floats, Floats]]
_STEPS = 30
_CONJUGATE_STEPS = 40
_CONJUGATE_SLOPE = 0.3
# The slope left, of what it was before any step, for the share of rows that are of the rarer sort: a few
# rows among thousands have to be heard as well.
_SLOPE = 5e-3
_LEAST_SLOPE = 1e-3
_FALLEN = 1e-4
_SHORTEST = 1e-3


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


def logistic(margin: Floats) -> tuple[Floats, Floats, Floats]:
    """The loss of logistic regression: minus the logarithm of how likely the row was."""
    wrong = 1 / (1 + np.exp(np.clip(margin, -500, 500)))
    return np.logaddexp(0, -margin), -wrong, wrong * (1 - wrong)


def squared_hinge(margin: Floats) -> tuple[Floats, Floats, Floats]:
    """The square of what a margin is short of one; rows that are plain teach nothing more."""
    short = np.maximum(0, 1 - margin)
    return short**2, -2 * short, 2.0 * (short > 0)


def fitted_together(
    told: Any,
    right: NDArray[np.bool_],
    penalty: float,
    counts: Floats | None = None,
    loss: Loss = logistic,
    free: NDArray[np.bool_] | None = None,
) -> tuple[Floats, Floats]:
    """The weights of several labels, a column each, and what each label starts from.

    Weights that are not ``free``, a clue a row and a label a column, stay zero.
    """
    weights = np.zeros((told.shape[1], right.shape[1]))
    biases = np.zeros(right.shape[1])
    for label in range(right.shape[1]):
        may = slice(None) if free is None else np.flatnonzero(free[:, label])
        of_label = told if free is None else told[:, may]
        weights[may, label], biases[label] = fitted(
            of_label, right[:, label], penalty, counts, loss
        )
    return weights, biases


def fitted(
    told: Any,
    right: NDArray[np.bool_],
    penalty: float,
    counts: Floats | None = None,
    loss: Loss = logistic,
) -> tuple[Floats, float]:
    """Weights and bias where the loss, rows ``counts`` times, and half the penalty are least."""
    often = np.ones(told.shape[0]) if counts is None else counts
    side = np.where(right, 1.0, -1.0)
    penalties = np.append(np.full(told.shape[1], penalty), 0.0)
    at, margin = np.zeros(told.shape[1] + 1), np.zeros(told.shape[0])
    rarer = min(right.mean(), 1 - right.mean())
    enough = None
    for _ in range(_STEPS):
        costs, slopes, bends = loss(margin)
        slope = _turned(told, side * often * slopes) + penalties * at
        size = float(np.linalg.norm(slope))
        enough = max(_LEAST_SLOPE, _SLOPE * rarer * size) if enough is None else enough
        if size <= enough:
            break
        active = np.flatnonzero(often * bends > 0)
        step = _newton(told[active], (often * bends)[active], penalties, slope)
        moved = side * _along(told, step)
        before = float((often * costs).sum() + (penalties * at**2).sum() / 2)
        length = 1.0
        while length > _SHORTEST:
            further, margins = at + length * step, margin + length * moved
            after = float((often * loss(margins)[0]).sum() + (penalties * further**2).sum() / 2)
            if after <= before + _FALLEN * length * float(slope @ step):
                break
            length /= 2
        at, margin = further, margins
    return at[:-1], float(at[-1])


def _newton(told: Any, bends: Floats, penalties: Floats, slope: Floats) -> Floats:
    """Where the parabola that fits here is least, nearly; a little is added so that it has a bottom."""
    step, rest = np.zeros_like(slope), -slope
    way, square = rest.copy(), float(rest @ rest)
    enough = _CONJUGATE_SLOPE**2 * square
    for _ in range(_CONJUGATE_STEPS):
        bent = _turned(told, bends * _along(told, way)) + (penalties + 1e-9) * way
        length = square / float(way @ bent)
        step += length * way
        rest -= length * bent
        square, last = float(rest @ rest), square
        if square <= enough:
            break
        way = rest + square / last * way
    return step


def _along(told: Any, at: Floats) -> Floats:
    total: Floats = told @ at[:-1] + at[-1]
    return total


def _turned(told: Any, rows: Floats) -> Floats:
    return np.append(told.T @ rows, rows.sum())
