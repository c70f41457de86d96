"""The shared faults that count for a ticket, those that fare alike put together.

Theory of operation
-------------------
Faults that fare alike beside every third one, in the plant and in each home of the ticket, form a class.
Faults that no home of the ticket feels and that speak for no check are summed out first. What pairs of
classes have beside what each has alone is a vector over the onsets; vectors that differ by no more than
their share of the posterior deserves are one.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from rules.checks.exactness import DIGITS, merged
from rules.diagnosis.belief import Belief
from rules.diagnosis.exact import Floats, Indices
from rules.model import ApartmentId

__all__ = ["Classes", "Vectors", "classes_of", "felt_by", "vectors_of"]

_LEAST = 1e-300


@dataclass(frozen=True, eq=False, slots=True)
class Classes:
    """The shared faults that count for a ticket, those that fare alike put together.

    Faults are numbered among those kept; matrices over two faults hold each alone on the diagonal.
    """

    kept: Indices  # (faults,): the candidate each is
    none: Floats  # (onsets,)
    alone: Floats  # (onsets, faults)
    beside: Floats  # (onsets, faults, faults)
    weight: Floats  # (faults, faults): share of the posterior
    keys: tuple[Indices, ...]  # by home, (faults, faults): key of the look
    of_fault: Indices  # (faults,)
    first: Indices  # (classes,): one fault of each

    def pair(self, a: int, b: int) -> tuple[int, int] | None:
        """Two different faults of two classes; None if a class has no second fault."""
        if a != b:
            return int(self.first[a]), int(self.first[b])
        inside = np.flatnonzero(self.of_fault == a)
        return (int(inside[0]), int(inside[1])) if len(inside) > 1 else None

    def pairs(self) -> list[tuple[int, int] | None]:
        """All pairs of classes: (0, 0), (1, 0), (1, 1), (2, 0) and so on."""
        return [self.pair(a, b) for a in range(len(self.first)) for b in range(a + 1)]


def classes_of(
    belief: Belief, members: Sequence[ApartmentId], speaking: Collection[int]
) -> Classes:
    """Take the shared states apart for the homes of a ticket.

    Args:
        belief: of the building.
        members: the ticket's homes.
        speaking: candidates that speak for a check of what is shared.
    """
    space, onsets = belief.space, len(belief.times.onsets)
    count = len(space.shared)
    kept = np.array(sorted(felt_by(belief, members) | set(speaking)))
    none, weight = _without_idle(belief.states.reshape(onsets, -1), count, kept)
    logs = np.log(np.maximum(weight, _LEAST)) - np.log(none)[:, None, None]
    faults = np.arange(len(kept))
    alone = logs[:, faults, faults]
    beside = np.round(logs - alone[:, :, None] - alone[:, None, :], DIGITS) + 0.0
    beside[:, faults, faults] = 0.0
    keys = tuple(_keys(belief, member, count, kept) for member in members)
    pair, _ = _numbered(np.stack([_numbered(beside.transpose(1, 2, 0))[0], *keys], axis=-1))
    of_fault, first = _alike(pair)
    order = _like_beside_like(beside.sum(axis=0)[np.ix_(first, first)])
    of_fault, first = np.argsort(order)[of_fault], first[order]
    return Classes(kept, np.log(none), alone, beside, weight.sum(axis=0), keys, of_fault, first)


def felt_by(belief: Belief, members: Sequence[ApartmentId]) -> set[int]:
    """The candidates that any of these homes would feel: in it, or beside it."""
    return {int(n) for m in members for n in belief.homes[m].kind.singles[0]}


def _without_idle(states: Floats, count: int, kept: Indices) -> tuple[Floats, Floats]:
    """P(onset, none of the kept) and P(onset, kept i and j), idle faults summed out."""
    square = np.stack([_square(s[1:], count) for s in states])
    idle = np.setdiff1d(np.arange(count), kept)
    weight = square[:, kept[:, None], kept[None, :]]
    own = np.arange(len(kept))
    weight[:, own, own] += square[:, kept[:, None], idle[None, :]].sum(axis=2)
    inside = square[:, idle[:, None], idle[None, :]]
    none = states[:, 0] + np.triu(inside).sum(axis=(1, 2))
    return none, weight


def _square(of_state: Floats, count: int) -> Floats:
    """Something of the shared states (but none) as a symmetric matrix of candidates."""
    made = np.zeros((count, count), dtype=of_state.dtype)
    first, second = np.triu_indices(count, k=1)
    made[first, second] = made[second, first] = of_state[count:]
    made[np.arange(count), np.arange(count)] = of_state[:count]
    return made


def _keys(belief: Belief, member: ApartmentId, count: int, kept: Indices) -> Indices:
    home = belief.homes[member]
    of_state = home.keys.of_look[home.kind.look_of_state]
    keys: Indices = _square(of_state[1:].astype(np.float64), count)[np.ix_(kept, kept)].astype(
        np.intp
    )
    return keys


def _alike(pair: Indices) -> tuple[Indices, Indices]:
    """Faults whose codes beside every third fault are equal: class of each, first of each class."""
    count = len(pair)
    of_fault = np.full(count, -1, dtype=np.intp)
    first: list[int] = []
    for n in range(count):
        for number, known in enumerate(first):
            same = pair[n] == pair[known]
            same[[n, known]] = True
            if pair[n, n] == pair[known, known] and same.all():
                of_fault[n] = number
                break
        else:
            of_fault[n] = len(first)
            first.append(n)
    return of_fault, np.array(first, dtype=np.intp)


def _like_beside_like(beside: Floats) -> Indices:
    """An order in which each class stands after the one that fares most like it: that packs well.

    Args:
        beside: of each two classes; (classes, classes).
    """
    about = np.rint(beside)
    left, order = np.ones(len(about), dtype=bool), [0]
    while len(order) < len(about):
        left[order[-1]] = False
        alike = (about == about[order[-1]]).sum(axis=1)
        order.append(int(np.where(left, alike, -1).argmax()))
    return np.array(order)


@dataclass(frozen=True, eq=False, slots=True)
class Vectors:
    """What pairs of classes have beside what each has alone, in so many distinct vectors.

    They are numbered by how many pairs have them.
    """

    number: Indices  # (pairs of classes,)
    of_number: Floats  # (vectors, onsets)
    weight: Floats  # (vectors, onsets): share of the posterior


def vectors_of(classes: Classes) -> Vectors:
    """Of all pairs of classes."""
    count = len(classes.first)
    summed = np.zeros((count, count))
    places = (classes.of_fault[:, None], classes.of_fault[None, :])
    np.add.at(summed, places, classes.weight)
    weights = np.array([summed[a, b] for a in range(count) for b in range(a + 1)])
    vectors = np.array(
        [
            np.zeros(len(classes.none)) if p is None else classes.beside[:, *p]
            for p in classes.pairs()
        ]
    )
    each = np.repeat(weights[:, None], vectors.shape[1], axis=1)
    number, first = merged(vectors, each)
    often = np.argsort(-np.bincount(number), kind="stable")
    number, first = np.argsort(often)[number], first[often]
    together = np.zeros((len(first), each.shape[1]))
    np.add.at(together, number, each)
    return Vectors(number, vectors[first], together)


def _numbered(values: Any) -> tuple[Indices, Indices]:
    """Equal vectors along the last axis by number, and where each number first stands."""
    flat = values.reshape(-1, values.shape[-1])
    _, first, code = np.unique(flat, axis=0, return_index=True, return_inverse=True)
    return code.reshape(values.shape[:-1]), first
