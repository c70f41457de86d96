"""Each kind and intent weighed once more, by what the first weighing says of all of them.

Theory of operation
-------------------
A clue speaks for each label by itself; that a text tells of a leak and smells of burning, or asks when
somebody comes and is an answer, says something of the other labels too. What is weighed here: the sum
of each label as it is and flattened, so that none outweighs all others; two of the flattened at a time;
each beside whether a question was asked; how far an intent is ahead of the others; and what rules
found. The weights are in ``reading_once_more.yaml``, learned on messages of hands that the first
weighing had not learned from (``tests/evaluation_reading/learn_once_more.py``).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rules.data import table
from rules.model import Intent, Kind

__all__ = ["CLUES", "WEIGHED", "OnceMore", "clues_of_sums", "once_more", "once_more_of"]

# The labels that are weighed once more, as they stand first among all.
WEIGHED: tuple[Kind | Intent, ...] = (*Kind, *Intent)
# A sum is in hundredths; beyond six, either way, it says nothing more.
_HUNDREDTHS = 100
_FARTHEST = 6.0
_FLATTENED = 2.0
_FARTHEST_AHEAD = 4.0
_FIRST_INTENT = len(Kind)
_ONE, _OTHER = np.triu_indices(len(WEIGHED), 1)

Floats = NDArray[np.float64]


def _name(label: Kind | Intent) -> str:
    return f"wants {label.value}" if isinstance(label, Intent) else label.value


_NAMES = tuple(map(_name, WEIGHED))
CLUES = (
    *(f"sum {name}" for name in _NAMES),
    *(f"flat {name}" for name in _NAMES),
    *(f"asked {name}" for name in _NAMES),
    *(f"rules {name}" for name in _NAMES),
    *(f"ahead {name}" for name in _NAMES[_FIRST_INTENT:]),
    "asked",
    *(f"{_NAMES[one]} & {_NAMES[other]}" for one, other in zip(_ONE, _OTHER, strict=True)),
)


def clues_of_sums(
    sums: Sequence[int], intent: Intent, kinds: Collection[Kind], *, asked: bool
) -> Floats:
    """What the sums of all labels, in hundredths, and the rules say: a number for each of ``CLUES``."""
    own = np.array(sums[: len(WEIGHED)], dtype=np.float64) / _HUNDREDTHS
    own = np.clip(own, -_FARTHEST, _FARTHEST)
    flat = np.tanh(own / 2)
    by_rules = [
        label is intent if isinstance(label, Intent) else label in kinds for label in WEIGHED
    ]
    strong = flat * _FLATTENED
    pairs = flat[_ONE] * flat[_OTHER]
    ahead = _ahead(own[_FIRST_INTENT:])
    return np.concatenate((own, strong, strong * asked, by_rules, ahead, (asked,), pairs))


def _ahead(sums: Floats) -> Floats:
    """How far each is ahead of the greatest of the others; below zero it is behind."""
    second, first = np.sort(sums)[-2:]
    ahead: Floats = sums - np.where(sums < first, first, second)
    return ahead.clip(-_FARTHEST_AHEAD, _FARTHEST_AHEAD)


class OnceMore:
    """The weights of ``CLUES``, a column for each of ``WEIGHED``, and what each starts from."""

    def __init__(self, bias: Floats, weights: Floats) -> None:
        self.bias = bias
        self.weights = weights

    def sums(
        self, sums: Sequence[int], intent: Intent, kinds: Collection[Kind], *, asked: bool
    ) -> list[int]:
        """The sums, in hundredths, with those of kinds and intents weighed once more."""
        told = clues_of_sums(sums, intent, kinds, asked=asked) @ self.weights + self.bias
        return [*map(round, told.tolist()), *sums[len(WEIGHED) :]]


def once_more_of(raw: Mapping[str, Any]) -> OnceMore:
    """The weights from their table."""
    weights = np.array([list(map(int, raw["weights"][clue].split())) for clue in CLUES])
    return OnceMore(np.array(raw["bias"], dtype=np.float64), weights.astype(np.float64))


@cache
def once_more() -> OnceMore:
    """The weights, read once per process."""
    return once_more_of(table("reading_once_more"))
