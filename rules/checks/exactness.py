"""How exact the tables of a worksheet are: as exact as a share of the posterior deserves."""

from __future__ import annotations

from typing import Any

import numpy as np

from rules.diagnosis.exact import Floats, Indices

__all__ = ["DIGITS", "NEGLIGIBLE", "flat", "listed", "merged", "rounded"]

# Share of the posterior times error of its logarithm.
NEGLIGIBLE = 1e-7
DIGITS = 10  # of the heaviest
# Of what decides only whether a fault explains a complaint at all, and how it shares one.
_FEWER_DIGITS = 5
_LEAST = 1e-300


def flat(values: Floats, axis: int) -> Floats:
    """Values as a matrix with one row for each place along an axis."""
    made: Floats = np.moveaxis(values, axis, 0).reshape(values.shape[axis], -1)
    return made


def merged(rows: Floats, weight: Floats) -> tuple[Indices, Indices]:
    """Rows that may stand for each other by number, and where the one of each number stands.

    The heavier stand for lighter ones near them; what a row weighs, place by place, times what it then
    errs by is below ``NEGLIGIBLE``.
    """
    number = np.zeros(len(rows), dtype=np.intp)
    kept: list[int] = []
    standing = np.empty_like(rows)
    for row in np.argsort(-weight.sum(axis=1), kind="stable").tolist():
        errs = (np.abs(standing[: len(kept)] - rows[row]) * weight[row]).max(axis=1)
        nearest = int(errs.argmin()) if kept else 0
        if not kept or errs[nearest] >= NEGLIGIBLE:
            nearest = len(kept)
            standing[nearest] = rows[row]
            kept.append(row)
        number[row] = nearest
    return number, np.array(kept, dtype=np.intp)


def rounded(logs: Floats, weight: Floats) -> Floats:
    """Logs with as many digits as their weight in the posterior deserves."""
    digits = np.clip(np.ceil(np.log10(np.maximum(weight, _LEAST) / NEGLIGIBLE)), 0, DIGITS)
    scale = 10.0**digits
    made: Floats = np.rint(logs * scale) / scale + 0.0
    return made


def listed(values: Floats) -> list[Any]:
    """As lists with some digits; -0.0 is 0."""
    made: list[Any] = (np.round(values, _FEWER_DIGITS) + 0.0).tolist()
    return made
