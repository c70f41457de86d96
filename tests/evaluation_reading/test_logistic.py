"""Weights are the optimum they are said to be."""

from __future__ import annotations

from math import exp

import numpy as np
import pytest

from .logistic import fitted, fitted_together, known_clues, matrix, squared_hinge

_TOLD = [frozenset(row.split()) for row in ("a b", "a", "b c", "c", "c a", "b")]
_RIGHT = np.array([True, True, False, False, False, True])
_COUNTS = np.array([1.0, 2.0, 1.0, 0.5, 1.0, 3.0])


def test_clues_are_known_from_so_many_texts_on() -> None:
    """Counted by hand: a, b and c are each in three texts of six."""
    assert known_clues([*_TOLD, frozenset({"d"})], 3) == ["a", "b", "c"]


def test_weights_are_where_the_slope_of_the_penalized_loss_is_zero() -> None:
    """The slope, written out for six rows by the textbook's formula, vanishes at the weights found."""
    clues = ["a", "b", "c"]
    weights, bias = fitted(matrix(_TOLD, clues), _RIGHT, 0.5, _COUNTS)
    by_clue = dict(zip(clues, (float(w) for w in weights), strict=True))
    slopes = {clue: 0.5 * weight for clue, weight in by_clue.items()} | {"bias": 0.0}
    for row, right, count in zip(_TOLD, _RIGHT, _COUNTS, strict=True):
        score = sum(by_clue[clue] for clue in row) + bias
        miss = count * (1 / (1 + exp(-score)) - right)
        slopes["bias"] += miss
        for clue in row:
            slopes[clue] += miss
    assert slopes == pytest.approx(dict.fromkeys(slopes, 0.0), abs=0.02)


def test_weights_of_the_squared_hinge_are_where_its_slope_is_zero() -> None:
    """The same for the square of what a margin lacks of one, and a weight that is held stays zero."""
    clues = ["a", "b", "c"]
    free = np.array([[True], [True], [False]])
    told = matrix(_TOLD, clues)
    weights, biases = fitted_together(
        told, _RIGHT[:, None], 0.5, _COUNTS, loss=squared_hinge, free=free
    )
    by_clue = dict(zip(clues, map(float, weights[:, 0]), strict=True))
    slopes = {"a": 0.5 * by_clue["a"], "b": 0.5 * by_clue["b"], "bias": 0.0}
    for row, right, count in zip(_TOLD, _RIGHT, _COUNTS, strict=True):
        side = 1 if right else -1
        score = sum(by_clue[clue] for clue in row) + float(biases[0])
        slope = -2 * count * side * max(0.0, 1 - side * score)
        for name in {"bias", *row} & slopes.keys():
            slopes[name] += slope
    assert slopes == pytest.approx(dict.fromkeys(slopes, 0.0), abs=0.02)
    assert by_clue["c"] == 0
