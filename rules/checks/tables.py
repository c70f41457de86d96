"""The posterior of one ticket taken apart into few numbers, without loss but of digits.

Theory of operation
-------------------
With w the log of P(onset, shared state), and a shared state one fault i or two, i and j,

    w(onset, i, j) = none(onset) + alone(onset, i) + alone(onset, j) + beside(onset, class i, class j)

where faults that fare alike beside every third one form a class. Faults that no home of the ticket
feels and that speak for no check are summed out first. A home's own state k, given a look, is as
probable against "nothing of its own" as

    own(onset, k) + shift(onset, row of the look, column of k)

and the row depends on the classes of i and j alone. What was said by a home with nothing of its own is
exp(bare(onset, row)) times as likely as without a shared fault; from that follows how likely its own
fault alone would have made it. Logarithms keep as many digits as their share of the posterior deserves,
and rows, columns and pairs that differ by no more than that are one: a share times the error of its
logarithm is below ``NEGLIGIBLE``. A phone on a poor link loads what is left in seconds.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from rules.checks.exactness import DIGITS, flat, listed, merged, rounded
from rules.diagnosis.belief import Belief
from rules.diagnosis.exact import Floats, Indices
from rules.diagnosis.home import HomeBelief
from rules.model import ApartmentId

__all__ = ["Classes", "classes_of", "felt_by", "home_table", "shared_table"]

JSON = Mapping[str, Any]
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


def shared_table(classes: Classes) -> JSON:
    """The shared states: by fault, and by pair of classes through a list of distinct vectors."""
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
    together = np.zeros((len(first), each.shape[1]))
    np.add.at(together, number, each)
    return {
        "none": (classes.none - classes.none.max()).tolist(),
        "alone": rounded(classes.alone, classes.weight.sum(axis=1)[None, :]).tolist(),
        "class": classes.of_fault.tolist(),
        "beside_of": number.tolist(),
        "beside": rounded(vectors[first], together).T.tolist(),
    }


def home_table(belief: Belief, classes: Classes, at: int, name: ApartmentId) -> JSON:
    """One home: its own states, and how much likelier each shared fault makes its complaint.

    Args:
        belief: of the building.
        classes: the shared faults.
        at: number of the home on the ticket.
        name: the home.
    """
    home, by_own_key = belief.by_key(name)
    share = home.by_own_state(by_own_key)
    logs = np.log(np.maximum(home.own_given_key, _LEAST))
    odds = logs - logs[:, :, :1]
    nothing = int(home.kind.look_of_state[0])
    healthy = int(home.keys.of_look[nothing])
    shift = np.round(odds - odds[:, healthy : healthy + 1], DIGITS) + 0.0
    bare = _bare(home, healthy)
    column, first = merged(flat(shift, 2), flat(share, 2))
    together = np.concatenate([shift[:, :, first], bare[:, :, None]], axis=2)
    at_columns = np.stack([share[:, :, column == n].sum(axis=2) for n in range(len(first))], axis=2)
    every = np.concatenate([at_columns, share.sum(axis=2, keepdims=True)], axis=2)
    rows, row_first = merged(flat(together, 1), flat(every, 1))
    weight = np.zeros((len(shift), len(row_first), len(first)))
    for onset, part in enumerate(share):
        np.add.at(weight[onset], (rows[:, None], column[None, :]), part)
    of_pair = classes.keys[at]
    said = home.log_nothing_own(np.arange(home.kind.shape[0]))
    singles = dict(zip(*(part.tolist() for part in home.kind.singles), strict=True))
    reaching = [(n, singles[c]) for n, c in enumerate(classes.kept.tolist()) if c in singles]
    return {
        "prior": listed(home.log_prior - home.log_prior[0]),
        "odds": rounded(odds[:, healthy], share.sum(axis=1)).tolist(),
        "column": column.tolist(),
        "row_none": int(rows[healthy]),
        "row_alone": [int(rows[of_pair[n, n]]) for n in classes.first],
        "row_both": [0 if p is None else int(rows[of_pair[p]]) for p in classes.pairs()],
        "shift": rounded(shift[:, row_first][:, :, first], weight).tolist(),
        "bare": rounded(bare[:, row_first], weight.sum(axis=2)).tolist(),
        "healthy": listed(said[:, nothing] - said.max()),
        "reaching": [n for n, _ in reaching],
        "explains": listed(said[:, [look for _, look in reaching]] - said[:, [nothing]]),
    }


def _bare(home: HomeBelief, healthy: int) -> Floats:
    """Log P(what goes by keys | look key, nothing of its own) against no shared fault.

    Shape (onsets, look keys); ``healthy`` is the key of no shared fault.
    """
    likely = home.total.likely[:, :, home.keys.of_own[0]]
    logs = np.log(np.maximum(likely, _LEAST)) + home.total.scale
    against: Floats = np.round(logs - logs[:, [healthy]], DIGITS) + 0.0
    return against


def _numbered(values: Any) -> tuple[Indices, Indices]:
    """Equal vectors along the last axis by number, and where each number first stands."""
    flat = values.reshape(-1, values.shape[-1])
    _, first, code = np.unique(flat, axis=0, return_index=True, return_inverse=True)
    return code.reshape(values.shape[:-1]), first
