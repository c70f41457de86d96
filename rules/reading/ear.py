"""Danger that no sign foresaw: every word of a text is weighed, alone and beside the others.

Theory of operation
-------------------
Signs are written by people and know what people thought of. The ear is learned from labelled messages
(``tests/evaluation_reading/learn_danger.py``). Its clues are the beginnings of words, two of them near
each other, the concepts that the signs are made of, and two of these in one text; each has a weight in
``danger_ear.yaml``, above zero for danger and below for harmlessness. The score is their sum over the
root of their number, so that long texts are no louder than short ones, plus a bias that sets how few
harmless texts may be taken for danger. Concepts alone are weighed for each kind of danger in the same
way; where none of them speaks clearly, the kind is "other". Greetings, thanks and small words are no
clues.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from itertools import combinations
from math import sqrt
from typing import Any

from rules.reading.tokens import Tokens

__all__ = ["Ear", "Unweighed", "Weighing", "clues", "ear_of"]

_BEGINNING = 5
_NEAR_WORDS = 6
_FEWEST_TELLING = 2
_UNCLEAR = "other"


@dataclass(frozen=True, slots=True)
class Unweighed:
    """Words and concepts that are no clues: courtesy, and what holds a sentence together."""

    courtesy: frozenset[str]
    small: frozenset[str]
    concepts: frozenset[str]


@dataclass(frozen=True, slots=True)
class Weighing:
    """What each clue weighs for something, in tenths."""

    weights: Mapping[str, int]
    bias: float

    def score(self, told: AbstractSet[str]) -> float:
        """How much clues speak for it; above zero they do."""
        found = [self.weights[clue] for clue in told & self.weights.keys()]
        return sum(found) / sqrt(len(found) or 1) + self.bias


@dataclass(frozen=True, slots=True)
class Ear:
    """What speaks for danger, and among dangers for each kind."""

    danger: Weighing
    kinds: Mapping[str, Weighing]
    unweighed: Unweighed

    def score(self, tokens: Tokens) -> float:
        """How much a text sounds like danger; above zero it does. One telling word is too little."""
        telling = {
            hit.first
            for name, hits in tokens.hits.items()
            if name not in self.unweighed.concepts
            for hit in hits
            if not hit.denied
        }
        if len(telling) < _FEWEST_TELLING:
            return self.danger.bias
        return self.danger.score(clues(tokens, self.unweighed))

    def kind(self, tokens: Tokens) -> str:
        """The kind of danger that the concepts told speak for."""
        told = frozenset(tokens.told())
        score, kind = max((weighing.score(told), kind) for kind, weighing in self.kinds.items())
        return kind if score > 0 else _UNCLEAR

    def place(self, tokens: Tokens) -> tuple[int, int]:
        """First and last token of the concept that weighs most, else of the whole text."""
        weights = self.danger.weights
        told = [
            (weights[name], -hit.first, hit.last)
            for name, hits in tokens.hits.items()
            for hit in hits
            if weights.get(name, 0) > 0 and not hit.denied
        ]
        _, first, last = max(told, default=(0, 0, len(tokens.words) - 1))
        return -first, last


def clues(tokens: Tokens, unweighed: Unweighed) -> set[str]:
    """Everything in a text that may have a weight."""
    light = unweighed.courtesy | unweighed.small
    words = [
        "0" if word[0].isdecimal() else word[:_BEGINNING]
        for word in tokens.words
        if word[0].isalnum() and word not in light
    ]
    told = frozenset(tokens.told())
    concepts = sorted(
        name if name in told else f"not {name}" for name in tokens.hits.keys() - unweighed.concepts
    )
    return {
        *words,
        *_near(words),
        *concepts,
        *(f"{a} & {b}" for a, b in combinations(concepts, 2)),
    }


def _near(words: Sequence[str]) -> Iterator[str]:
    for at, word in enumerate(words):
        for other in words[at + 1 : at + 1 + _NEAR_WORDS]:
            yield f"{word} {other}" if word < other else f"{other} {word}"


def ear_of(raw: Mapping[str, Any], unweighed: Unweighed) -> Ear:
    """An ear from its table."""
    kinds = {kind: _weighing(row) for kind, row in raw["kinds"].items()}
    return Ear(_weighing(raw["danger"]), kinds, unweighed)


def _weighing(row: Mapping[str, Any]) -> Weighing:
    weights = {
        clue: int(weight) for weight, told in row["weights"].items() for clue in told.split(", ")
    }
    return Weighing(weights, float(row["bias"]))
