"""From how loud on a text is a danger, and which one it tells of where no sign foresaw it.

Theory of operation
-------------------
Signs are written by people and know what people thought of. How much a text sounds like danger is
weighed as kinds of trouble are (``weights``), by its words and the signs that stand in it, never by what
was asked. Long texts are no louder than short ones: what speaks for danger counts over the root of the
number of words, up to so many. From how loud on it is one sets how few harmless texts may be taken for
danger. The concepts that are told are weighed for each kind of danger; where none of them speaks
clearly, the kind is "other". Both are in ``danger_ear.yaml``, learned by
``tests/evaluation_reading/learn_danger.py``.
"""

from __future__ import annotations

from collections.abc import Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from math import sqrt
from typing import Any

from rules.reading.tokens import Tokens

__all__ = ["Ear", "Weighing", "ear_of", "loudness"]

# Of as many words a text is as loud as the sum of its weights.
_USUAL_WORDS = 12
_MOST_WORDS = 60
_FEWEST_TELLING = 2
_UNCLEAR = "other"


@dataclass(frozen=True, slots=True)
class Weighing:
    """What each concept weighs for something, in tenths."""

    weights: Mapping[str, int]
    bias: float

    def score(self, told: AbstractSet[str]) -> float:
        """How much concepts speak for it; above zero they do."""
        found = [weight for weight in map(self.weights.get, told) if weight is not None]
        return sum(found) / sqrt(len(found) or 1) + self.bias


@dataclass(frozen=True, slots=True)
class Ear:
    """The least loudness of a danger, and among dangers what speaks for each kind.

    ``unweighed`` are concepts that are no news by themselves.
    """

    least: int
    kinds: Mapping[str, Weighing]
    unweighed: frozenset[str]

    def is_danger(self, loud: float, tokens: Tokens, *, by_sign: bool) -> bool:
        """Whether a text as loud as that is a danger; without a sign, one telling word is too little."""
        return loud > self.least and (by_sign or self._telling(tokens) >= _FEWEST_TELLING)

    def _telling(self, tokens: Tokens) -> int:
        return len(
            {
                hit.first
                for name, hits in tokens.hits.items()
                if name not in self.unweighed
                for hit in hits
                if not hit.denied
            }
        )

    def kind(self, tokens: Tokens) -> str:
        """The kind of danger that the concepts told speak for."""
        told = tokens.told()
        score, kind = max((weighing.score(told), kind) for kind, weighing in self.kinds.items())
        return kind if score > 0 else _UNCLEAR

    def place(self, tokens: Tokens, kind: str) -> tuple[int, int]:
        """First and last token of the concept that speaks most for a kind, else of the whole text."""
        row = self.kinds.get(kind)
        told = [
            (row.weights[name], -hit.first, hit.last)
            for name, hits in tokens.hits.items()
            for hit in hits
            if row is not None and row.weights.get(name, 0) > 0 and not hit.denied
        ]
        _, first, last = max(told, default=(0, 0, len(tokens.words) - 1))
        return -first, last


def loudness(total: float, words: int) -> float:
    """How loud a text is by what speaks for danger in all its words."""
    return total * sqrt(_USUAL_WORDS / min(max(1, words), _MOST_WORDS))


def ear_of(raw: Mapping[str, Any], unweighed: frozenset[str]) -> Ear:
    """An ear from its table."""
    kinds = {kind: _weighing(row) for kind, row in raw["kinds"].items()}
    return Ear(int(raw["least"]), kinds, unweighed)


def _weighing(row: Mapping[str, Any]) -> Weighing:
    weights = {
        clue: int(weight) for weight, told in row["weights"].items() for clue in told.split(", ")
    }
    return Weighing(weights, float(row["bias"]))
