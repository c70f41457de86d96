"""Which shared states are listed one by one, and what all others add.

Theory of operation
-------------------
Where no home feels both of two shared faults, and no check speaks of both, they are independent given
the onset. With w the weight of a state, prior and all evidence together,

    w(onset, i, j) = w(onset, i) * w(onset, j) / w(onset, none)

In a building of many loops most pairs are of this kind. They are not listed: what they add to a fault is
its own weight times that of all faults apart from it, summed by blocks of faults that the same homes
feel. Faults that nobody feels are apart from all others. What two faults that are apart have as a common
cause comes on top of the product, and is listed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rules.diagnosis.exact import (
    Floats,
    ImpossibleEvidenceError,
    Indices,
    gathered,
    starts_of,
)
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.physics import alike
from rules.diagnosis.states import States

__all__ = ["Chances", "Listing"]


@dataclass(frozen=True, eq=False)
class Listing:
    """The states that are listed: none, each fault, and pairs, in the order of all states."""

    states: States
    at: Indices  # (listed,): number of each among all states
    log_prior: Floats  # (listed,); of faults that are apart what they have in common only
    block: Indices  # (candidates,): number of the block of each
    apart: NDArray[np.bool_]  # (blocks, blocks); those that nobody feels are so among themselves
    _looks: dict[HomeClass, Indices] = field(default_factory=dict)
    _pairs: dict[HomeClass, Indices] = field(default_factory=dict)
    _having: dict[int, Indices] = field(default_factory=dict)

    @staticmethod
    def of(states: States, felt: Sequence[Indices]) -> Listing:
        """For homes and checks that each concern some candidates."""
        count = len(states.shared)
        concerned = np.zeros((count, len(felt)))
        for column, numbers in enumerate(felt):
            concerned[numbers, column] = 1.0
        first, block = alike(concerned)
        apart = concerned[first] @ concerned[first].T == 0
        one, other = (part[1 + count :] for part in states.pair)
        pair_apart = apart[block.take(one), block.take(other)]
        listed = np.flatnonzero(~pair_apart | np.isfinite(states.log_in_common))
        pair_prior = np.where(pair_apart, states.log_in_common, states.log_prior[1 + count :])
        return Listing(
            states,
            np.concatenate([np.arange(1 + count), 1 + count + listed]),
            np.concatenate([states.log_prior[: 1 + count], pair_prior[listed]]),
            block,
            apart,
        )

    @cached_property
    def pair(self) -> tuple[Indices, Indices]:
        """First and second member of each listed state; none has the number after all candidates."""
        first, second = self.states.pair
        return first.take(self.at), second.take(self.at)

    @cached_property
    def of_pairs(self) -> tuple[Indices, Indices, Indices]:
        """First members of the pairs, where the pairs of each begin, and the second of each pair."""
        first, second = (members[1 + len(self.block) :] for members in self.pair)
        starts = starts_of(first)[: len(first)]
        return first.take(starts), starts, second

    def looks(self, kind: HomeClass) -> Indices:
        """The look of each listed state; (listed,)."""
        if kind not in self._looks:
            self._looks[kind] = kind.look_of_state.take(self.at)
        return self._looks[kind]

    def pairs(self, kind: HomeClass) -> Indices:
        """Where the state of each look of two faults is listed, of others any place; (looks,)."""
        if kind not in self._pairs:
            self._pairs[kind] = np.searchsorted(self.at, kind.a_state)
        return self._pairs[kind]

    def having(self, candidate: int) -> Indices:
        """The listed states in which a candidate is there."""
        if candidate not in self._having:
            first, second = self.pair
            self._having[candidate] = np.flatnonzero((first == candidate) | (second == candidate))
        return self._having[candidate]

    @cached_property
    def _by_block(self) -> tuple[Indices, Indices]:
        """Candidates in the order of their blocks, and where each block begins."""
        order = np.argsort(self.block, kind="stable")
        return order, np.searchsorted(self.block[order], np.arange(len(self.apart)))

    def log_apart(self, log_joint: Floats) -> Floats:
        """Log weight of each fault with any one that is apart from it; (onsets, candidates)."""
        alone = log_joint[:, 1 : 1 + len(self.block)]
        if not self.apart.any():
            return np.full(alone.shape, -np.inf)
        order, starts = self._by_block
        by_block = alone.take(order, axis=1)
        top = np.maximum.reduceat(by_block, starts, axis=1)
        by_block -= top.take(self.block[order], axis=1)
        of_block = np.log(np.add.reduceat(np.exp(by_block), starts, axis=1)) + top
        each = np.where(self.apart, of_block[:, None, :], -np.inf)
        others = np.logaddexp.reduce(each, axis=2).take(self.block, axis=1)
        among = np.flatnonzero(self.apart.diagonal().take(self.block))
        if len(among):
            # Nothing is beside itself.
            itself = np.exp(alone[:, among] - others[:, among])
            with np.errstate(divide="ignore"):
                others[:, among] += np.log1p(-np.minimum(itself, 1.0))
        found: Floats = alone + others - log_joint[:, :1]
        return found


@dataclass(frozen=True, eq=False)
class Chances:
    """What is believed of the shared states, from their weights with all evidence."""

    listing: Listing
    log_joint: Floats  # (onsets, listed), not normalised
    log_total: float
    listed: Floats  # P(onset, listed state); (onsets, listed)
    apart: Floats  # P(onset, fault there beside one that is apart from it); (onsets, candidates)

    @staticmethod
    def of(listing: Listing, log_joint: Floats) -> Chances:
        """Normalised.

        Raises:
            ImpossibleEvidenceError: all weights are zero.
        """
        apart = listing.log_apart(log_joint)
        top = max(float(log_joint.max()), float(apart.max(initial=-np.inf)))
        if not np.isfinite(top):
            raise ImpossibleEvidenceError("the evidence cannot occur under any state of the model")
        listed = log_joint - top
        np.exp(listed, out=listed)
        apart = np.exp(apart - top)
        # Each of these pairs has two members.
        total = float(listed.sum()) + float(apart.sum()) / 2
        listed /= total
        return Chances(listing, log_joint, top + float(np.log(total)), listed, apart / total)

    @cached_property
    def onsets(self) -> Floats:
        """P(onset); (onsets,)."""
        chances: Floats = self.listed.sum(axis=1) + self.apart.sum(axis=1) / 2
        return chances

    @cached_property
    def with_each(self) -> Floats:
        """P(onset, candidate is there); (onsets, candidates)."""
        count = len(self.listing.block)
        summed = self.listed[:, 1 : 1 + count] + self.apart
        pairs = self.listed[:, 1 + count :]
        first, starts, second = self.listing.of_pairs
        if len(first):
            summed[:, first] += np.add.reduceat(pairs, starts, axis=1)
            for onset, chances in enumerate(pairs):
                summed[onset] += gathered(second, chances, count)
        return summed

    def of_shared(self, candidate: int) -> float:
        """P(a candidate is there)."""
        listed = self.listed.take(self.listing.having(candidate), axis=1)
        return float(listed.sum()) + float(self.apart[:, candidate].sum())

    def of_home(self, kind: HomeClass, by_look: Floats) -> float:
        """Mean of something that a home of this class decides by its look, (onsets, looks)."""
        felt = by_look.take(self.listing.looks(kind), axis=1)
        # Of two faults that are apart it feels one at most; the other is as good as none.
        beside = felt[:, 1 : 1 + len(self.listing.block)] - by_look[:, kind.nothing, None] / 2
        mean = np.einsum("ns,ns->", self.listed, felt) + np.einsum("nc,nc->", self.apart, beside)
        return float(mean)

    @property
    def as_felt(self) -> Floats:
        """The chances of listed states, those of faults apart counted with each of them alone.

        That is how a home sees them: it feels one of the two at most. Shape (onsets, listed).
        """
        seen = self.listed.copy()
        seen[:, 1 : 1 + len(self.listing.block)] += self.apart
        return seen

    @cached_property
    def of_all(self) -> Floats:
        """P(onset, shared state) of all states, listed or not; (onsets, states); large."""
        listing, states = self.listing, self.listing.states
        made = np.zeros((len(self.listed), len(states.log_prior)))
        made[:, listing.at] = self.listed
        count = len(listing.block)
        alone = self.log_joint[:, 1 : 1 + count]
        one, other = (part[1 + count :] for part in states.pair)
        apart = np.flatnonzero(listing.apart[listing.block[one], listing.block[other]])
        logs = alone[:, one[apart]] + alone[:, other[apart]] - self.log_joint[:, :1]
        made[:, 1 + count + apart] += np.exp(logs - self.log_total)
        return made
