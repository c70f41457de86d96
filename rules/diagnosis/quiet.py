"""Faults that only homes feel from which nobody wrote: pairs with them are summed, never listed.

Theory of operation
-------------------
What such a fault adds to another one is silence and nothing else: with w the weight of a state, prior
and all evidence together, i a fault that only quiet homes h feel, and j any other,

    w(onset, i, j) = w(onset, j) * P(i, j) / P(j) * product over h of P(silence | i, j) / P(silence | j)

The factor of w(onset, j) does not know what others said. Loops of one size have equal factors, and
their own faults equal weights, so one of them is computed for all.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from hashlib import blake2b

import numpy as np
from numpy.typing import NDArray

from rules.diagnosis.exact import Floats, Indices
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.states import States

__all__ = ["Quiet", "QuietBlock", "quiet_together"]


@dataclass(frozen=True, eq=False)
class QuietBlock:
    """The faults that some quiet homes feel and no others do, and all that these homes feel."""

    own: Indices  # (faults,)
    beside: Indices  # (beside,): its own faults, then those that others feel as well
    state: Indices  # (faults, beside): number of the state of each two
    log_alone: Floats  # (faults,): log prior of each of its own alone
    log_factor: Floats  # (faults, beside): of the priors; -inf for pairs that are counted elsewhere
    looks: Mapping[HomeClass, tuple[Indices, Indices]]  # of each two, and of what is beside alone

    @staticmethod
    def of(
        states: States,
        own: Indices,
        kinds: Sequence[HomeClass],
        elsewhere: Indices,
        apart: NDArray[np.bool_],
    ) -> QuietBlock:
        """For these classes of homes.

        Left out are pairs with faults that are counted elsewhere, and those that are apart: that is told
        of each pair of candidates, in the order of the states.
        """
        felt = np.unique(np.concatenate([kind.singles[0] for kind in kinds]))
        beside = np.append(own, np.setdiff1d(felt, np.append(own, elsewhere)))
        state = states.number_of_pair(own[:, None], beside[None, :])
        # Of two that are both its own each pair is counted once.
        left_out = np.tri(len(own), len(beside), dtype=bool) & (np.arange(len(beside)) < len(own))
        left_out |= apart.take(state - 1 - len(states.shared), mode="clip")
        factor = states.log_prior[state] - states.log_prior[1 + beside]
        looks = [(k, k.look_of_state[state], k.look_of_state[1 + beside]) for k in kinds]
        # In an order that equal blocks have too.
        looks.sort(key=lambda of: (of[2].tobytes(), of[1].tobytes()))
        return QuietBlock(
            own,
            beside,
            state,
            states.log_prior[1 + own],
            np.where(left_out, -np.inf, factor),
            {kind: (both, alone) for kind, both, alone in looks},
        )

    @cached_property
    def counted(self) -> NDArray[np.bool_]:
        """(faults, beside): whether a pair is counted here."""
        return np.isfinite(self.log_factor)

    def felt(self, kind: HomeClass) -> NDArray[np.bool_]:
        """(faults, beside): whether a pair is counted here and such a home feels both."""
        both: NDArray[np.bool_] = kind.members[self.looks[kind][0], 1] >= 0
        return both & self.counted

    @cached_property
    def likeness(self) -> bytes:
        """A digest, equal for blocks that are equal in all where silence is."""
        looks = (look for looks in self.looks.values() for look in looks)
        parts = (self.log_alone, self.log_factor, self.beside[len(self.own) :], *looks)
        return blake2b(b"".join(part.tobytes() for part in parts), digest_size=16).digest()

    def factor(self, silence: Mapping[HomeClass, Floats]) -> Floats:
        """What w(onset, j) is multiplied by; (onsets or 1, faults, beside)."""
        logs = self.log_factor[None]
        for kind, (both, alone) in self.looks.items():
            if kind in silence:
                logs = logs + silence[kind].take(both, axis=1)
                logs -= silence[kind].take(alone, axis=1)[:, None]
        return np.exp(logs)


@dataclass(frozen=True, eq=False)
class Quiet:
    """Quiet blocks that are equal in all but the numbers of their own faults."""

    blocks: Sequence[QuietBlock]
    factor: Floats  # (onsets or 1, faults, beside)

    @cached_property
    def summed(self) -> Floats:
        """Over the faults; (onsets or 1, beside)."""
        return np.asarray(self.factor.sum(axis=1))

    def add_to(self, beside: Floats, alone: Floats) -> None:
        """Add to the mass of each fault what it has with any that is paired with it here.

        Both (onsets, candidates); ``alone`` is the mass of each without another one.
        """
        block, count = self.blocks[0], len(self.blocks[0].own)
        weight = alone.take(block.beside, axis=1)
        own = np.matmul(self.factor, weight[:, :, None])[:, :, 0]
        weight *= self.summed
        own += weight[:, :count]
        for one in self.blocks:
            beside[:, one.own] += own
        beside[:, block.beside[count:]] += len(self.blocks) * weight[:, count:]

    def of_pairs(self, block: QuietBlock, which: NDArray[np.bool_], alone: Floats) -> Floats:
        """Mass of some pairs of one of the blocks; (onsets, pairs)."""
        pairs: Floats = self.factor * alone.take(block.beside, axis=1)[:, None]
        return pairs[:, which]


def quiet_together(
    blocks: Sequence[QuietBlock], silence: Mapping[HomeClass, Floats]
) -> tuple[Quiet, ...]:
    """Equal blocks together.

    ``silence`` is log P(silence | onset, look) of classes of homes, (onsets, looks); where it is equal
    it is the same array.
    """
    equal: dict[object, list[QuietBlock]] = {}
    for block in blocks:
        name = (block.likeness, *(id(silence.get(kind)) for kind in block.looks))
        equal.setdefault(name, []).append(block)
    return tuple(Quiet(group, group[0].factor(silence)) for group in equal.values())
