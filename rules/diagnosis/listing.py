"""Which shared states are listed one by one, and which pairs are only summed.

Theory of operation
-------------------
Where no home feels both of two shared faults, and no check speaks of both, they are independent given
the onset. With w the weight of a state, prior and all evidence together,

    w(onset, i, j) = w(onset, i) * w(onset, j) / w(onset, none)

In a building of many loops most pairs are of this kind. They are not listed: what they add to a fault is
its its own weight times that of all faults apart from it, summed by blocks of faults that the same homes
feel. Faults that nobody feels are apart from all others. What two faults that are apart have as a common
cause comes on top of the product, and is listed. Nor are pairs listed with a fault that only homes feel
that said nothing: they are summed too (``quiet``). So the list grows with the loops from which somebody
wrote.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rules.diagnosis.exact import Floats, Indices, starts_of
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.physics import alike
from rules.diagnosis.quiet import Quiet, QuietBlock, quiet_together
from rules.diagnosis.states import States

__all__ = ["Listing"]

_FEW = 8


@dataclass(frozen=True, eq=False)
class Listing:
    """The states that are listed: none, each fault, and pairs, in the order of all states."""

    states: States
    at: Indices  # (listed,): number of each among all states
    log_prior: Floats  # (listed,); of faults that are apart what they have in common only
    block: Indices  # (candidates,): number of the block of each
    apart: NDArray[np.bool_]  # (blocks, blocks); those that nobody feels are so among themselves
    quiet: tuple[QuietBlock, ...]
    _looks: dict[HomeClass, Indices] = field(default_factory=dict)
    _pairs: dict[HomeClass, Indices] = field(default_factory=dict)
    _feeling_one: dict[HomeClass, tuple[Indices, Indices]] = field(default_factory=dict)
    _having: dict[int, Indices] = field(default_factory=dict)

    @staticmethod
    def of(
        states: States,
        kinds: Collection[HomeClass],
        spoken: Collection[HomeClass],
        speaking: Collection[tuple[int, ...]],
    ) -> Listing:
        """For homes of some classes, those of which somebody said something, and checks.

        ``speaking`` are the candidates that speak for each check.
        """
        felt = [kind.singles[0] for kind in kinds]
        felt += [np.array(numbers, dtype=np.intp) for numbers in speaking]
        concerned = np.zeros((len(states.shared), len(felt)))
        for column, numbers in enumerate(felt):
            concerned[numbers, column] = 1.0
        first, block = alike(concerned)
        of_block = concerned[first]
        apart = of_block @ of_block.T == 0
        heard = np.array([*(kind in spoken for kind in kinds), *(True for _ in speaking)])
        is_quiet = np.asarray(of_block.any(axis=1) & ~of_block[:, heard].any(axis=1))
        loop = _loops(of_block, is_quiet, np.bincount(block))
        is_quiet &= loop >= 0
        count = len(states.shared)
        one, other = (block.take(part[1 + count :]) for part in states.pair)
        pair_apart = apart[one, other]
        is_summed = pair_apart | is_quiet[one] | is_quiet[other]
        listed = np.flatnonzero(~is_summed | (pair_apart & np.isfinite(states.log_in_common)))
        pair_prior = np.where(pair_apart, states.log_in_common, states.log_prior[1 + count :])
        return Listing(
            states=states,
            at=np.concatenate([np.arange(1 + count), 1 + count + listed]),
            log_prior=np.concatenate([states.log_prior[: 1 + count], pair_prior[listed]]),
            block=block,
            apart=apart,
            quiet=_quiet(states, list(kinds), of_block, loop.take(block), pair_apart),
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
            places = np.searchsorted(self.at, kind.a_state)
            self._pairs[kind] = np.minimum(places, len(self.at) - 1)
        return self._pairs[kind]

    def feeling_one(self, kind: HomeClass) -> tuple[Indices, Indices]:
        """The listed pairs of which such a home feels one, and the place of that one in ``singles``."""
        if kind not in self._feeling_one:
            count, candidates = len(self.block), kind.singles[0]
            place = np.full(count, -1)
            place[candidates] = np.arange(len(candidates))
            one, other = (place.take(members[1 + count :]) for members in self.pair)
            at = np.flatnonzero((one < 0) != (other < 0))
            self._feeling_one[kind] = 1 + count + at, np.maximum(one, other).take(at)
        return self._feeling_one[kind]

    def having(self, candidate: int) -> Indices:
        """The listed states in which a candidate is there."""
        if candidate not in self._having:
            first, second = self.pair
            self._having[candidate] = np.flatnonzero((first == candidate) | (second == candidate))
        return self._having[candidate]

    @cached_property
    def unheard(self) -> tuple[Quiet, ...]:
        """The quiet blocks where silence does not count."""
        return quiet_together(self.quiet, {})

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


def _loops(of_block: Floats, is_quiet: NDArray[np.bool_], faults: Indices) -> Indices:
    """The quiet block with which each is summed, or -1; (blocks,).

    ``of_block`` is 1 where a class of homes feels a block, (blocks, classes). A block of few faults,
    such as those of one riser, is summed with that of its loop; if there is none, its pairs are listed.
    """
    large = np.flatnonzero(is_quiet & (faults > _FEW))
    loop = np.full(len(of_block), -1)
    loop[large] = large
    for number in np.flatnonzero(is_quiet & (faults <= _FEW)):
        within = large[(of_block[large] >= of_block[number]).all(axis=1)]
        if len(within):
            loop[number] = min(within, key=lambda n: of_block[n].sum())
    return loop


def _quiet(
    states: States,
    kinds: list[HomeClass],
    of_block: Floats,
    loop: Indices,
    apart: NDArray[np.bool_],
) -> tuple[QuietBlock, ...]:
    """The quiet blocks; a pair is counted in the one of two that fewer classes of homes feel.

    ``loop`` is the block with which each candidate is summed; ``apart`` tells of each pair.
    """
    found: list[QuietBlock] = []
    elsewhere = np.zeros(0, dtype=np.intp)
    for number in sorted(set(loop.tolist()) - {-1}, key=lambda n: (of_block[n].sum(), n)):
        own = np.flatnonzero(loop == number)
        feeling = [kinds[column] for column in np.flatnonzero(of_block[number])]
        found.append(QuietBlock.of(states, own, feeling, elsewhere, apart))
        elsewhere = np.append(elsewhere, own)
    return tuple(found)
