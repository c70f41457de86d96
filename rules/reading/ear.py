"""Danger that no sign foresaw: every word of a text is weighed, alone and beside the others.

Theory of operation
-------------------
Signs are written by people and know what people thought of. The ear is learned from labelled messages
(``tests/evaluation_reading/learn_danger.py``). Its clues are the beginnings of words, two of them near
each other, the concepts that the signs are made of, and two of these in one text; each has a weight in
``danger_ear.yaml``, above zero for danger and below for harmlessness. The score is their sum over the
root of their number, so that long texts are no louder than short ones, plus what the signs that stand
are worth, and a bias that sets how few harmless texts may be taken for danger. Concepts alone are
weighed for each kind of danger in the same way; where none of them speaks clearly, the kind is "other".
Greetings, thanks and small words are no clues.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from itertools import combinations
from math import sqrt
from typing import Any

from rules.reading.tokens import Tokens

__all__ = ["ANY_SIGN", "TAKEN_BACK", "Ear", "Unweighed", "Weighing", "clues", "ear_of"]

_BEGINNING = 5
_NEAR_WORDS = 6
_FEWEST_TELLING = 2
_UNCLEAR = "other"
# Beside kinds of danger, what signs may say: that one stands, that one was taken back.
ANY_SIGN = "any"
TAKEN_BACK = "taken_back"


@dataclass(frozen=True, slots=True)
class Unweighed:
    """Words and concepts that are no clues: courtesy, and what holds a sentence together."""

    words: frozenset[str]
    concepts: frozenset[str]


@dataclass(frozen=True, slots=True)
class Weighing:
    """What each clue weighs for something, in tenths."""

    weights: Mapping[str, int]
    bias: float

    def score(self, told: AbstractSet[str]) -> float:
        """How much clues speak for it; above zero they do."""
        found = [weight for weight in map(self.weights.get, told) if weight is not None]
        return sum(found) / sqrt(len(found) or 1) + self.bias


@dataclass(frozen=True, slots=True)
class Ear:
    """What speaks for danger, and among dangers for each kind."""

    danger: Weighing
    signs: Mapping[str, int]
    kinds: Mapping[str, Weighing]
    unweighed: Unweighed

    def score(self, tokens: Tokens, signs: AbstractSet[str], among: range | None = None) -> float:
        """How much a text sounds like danger; above zero it does.

        ``signs`` are the kinds of danger that signs tell of, ``among`` the tokens that are listened to.
        Without a sign, one telling word is too little.
        """
        if not signs and self._telling(tokens) < _FEWEST_TELLING:
            return self.danger.bias
        worth = sum(self.signs[sign] for sign in signs & self.signs.keys())
        return self.danger.score(clues(tokens, self.unweighed, among)) + worth

    def _telling(self, tokens: Tokens) -> int:
        return len(
            {
                hit.first
                for name, hits in tokens.hits.items()
                if name not in self.unweighed.concepts
                for hit in hits
                if not hit.denied
            }
        )

    def kind(self, tokens: Tokens) -> str:
        """The kind of danger that the concepts told speak for."""
        told = tokens.told()
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


def clues(tokens: Tokens, unweighed: Unweighed, among: range | None = None) -> set[str]:
    """Everything in a text, or in some of its tokens, that may have a weight."""
    words = [
        "0" if word[0].isdecimal() else word[:_BEGINNING]
        for word in (tokens.words if among is None else [tokens.words[at] for at in among])
        if word[0].isalnum() and word not in unweighed.words
    ]
    concepts = sorted(_concepts(tokens, unweighed, among))
    near = {
        f"{word} {other}" if word < other else f"{other} {word}"
        for at, word in enumerate(words)
        for other in words[at + 1 : at + 1 + _NEAR_WORDS]
    }
    return near.union(words, concepts, map(" & ".join, combinations(concepts, 2)))


def _concepts(tokens: Tokens, unweighed: Unweighed, among: range | None) -> Iterator[str]:
    for name in tokens.hits.keys() - unweighed.concepts:
        hits = tokens.hits[name]
        listened = hits if among is None else [hit for hit in hits if hit.first in among]
        if listened:
            yield f"not {name}" if all(hit.denied for hit in listened) else name


def ear_of(raw: Mapping[str, Any], unweighed: Unweighed) -> Ear:
    """An ear from its table."""
    kinds = {kind: _weighing(row) for kind, row in raw["kinds"].items()}
    return Ear(_weighing(raw["danger"]), raw["signs"], kinds, unweighed)


def _weighing(row: Mapping[str, Any]) -> Weighing:
    weights = {
        clue: int(weight) for weight, told in row["weights"].items() for clue in told.split(", ")
    }
    return Weighing(weights, float(row["bias"]))
