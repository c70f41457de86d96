"""What is believed of the shared states, listed ones and all others, from their weights."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from rules.diagnosis.exact import Floats, ImpossibleEvidenceError, gathered, summed_by
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.listing import Listing
from rules.diagnosis.quiet import Quiet

__all__ = ["Chances"]


@dataclass(frozen=True, eq=False)
class Chances:
    """What is believed of the shared states, from their weights with all evidence."""

    listing: Listing
    quiet: tuple[Quiet, ...]
    log_joint: Floats  # (onsets, listed), not normalised
    log_total: float
    listed: Floats  # P(onset, listed state); (onsets, listed)
    beside: Floats  # P(onset, fault there in a pair that is not listed); (onsets, candidates)
    _by_look: dict[HomeClass, Floats] = field(default_factory=dict)

    @staticmethod
    def of(listing: Listing, quiet: tuple[Quiet, ...], log_joint: Floats) -> Chances:
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
        beside = np.exp(apart - top)
        for blocks in quiet:
            blocks.add_to(beside, listed[:, 1 : 1 + len(listing.block)])
        # Each of these pairs has two members.
        total = float(listed.sum()) + float(beside.sum()) / 2
        listed /= total
        beside /= total
        return Chances(listing, quiet, log_joint, top + float(np.log(total)), listed, beside)

    @cached_property
    def onsets(self) -> Floats:
        """P(onset); (onsets,)."""
        chances: Floats = self.listed.sum(axis=1) + self.beside.sum(axis=1) / 2
        return chances

    @property
    def alone(self) -> Floats:
        """P(onset, candidate is there and no other); (onsets, candidates)."""
        return self.listed[:, 1 : 1 + len(self.listing.block)]

    @cached_property
    def with_each(self) -> Floats:
        """P(onset, candidate is there); (onsets, candidates)."""
        count = len(self.listing.block)
        summed = self.alone + self.beside
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
        return float(listed.sum()) + float(self.beside[:, candidate].sum())

    def of_home(self, kind: HomeClass, by_look: Floats) -> float:
        """Mean of something that a home of this class decides by its look, (onsets, looks).

        A class from which somebody wrote.
        """
        felt = by_look.take(self.listing.looks(kind), axis=1)
        # Of two faults that are not listed it feels one at most; the other is as good as none.
        beside = felt[:, 1 : 1 + len(self.listing.block)] - by_look[:, kind.nothing, None] / 2
        mean = np.einsum("ns,ns->", self.listed, felt) + np.einsum("nc,nc->", self.beside, beside)
        return float(mean)

    def by_look(self, kind: HomeClass) -> Floats:
        """P(onset, look) of a home of this class: (onsets, looks).

        A look of two faults is one state. A look of one has the states with that fault alone or beside
        one that such a home does not feel; nothing is what is left.
        """
        if kind not in self._by_look:
            candidates, alone = kind.singles
            states, felt = self.listing.feeling_one(kind)
            of_one = summed_by(felt, self.listed.take(states, axis=1), len(candidates))
            of_one += self.alone.take(candidates, axis=1) + self.beside.take(candidates, axis=1)
            rows = self.listed.take(self.listing.pairs(kind), axis=1)
            for quiet in self.quiet:
                for block in quiet.blocks:
                    if kind in block.looks:
                        which = block.felt(kind)
                        looks = block.looks[kind][0][which]
                        rows[:, looks] = pairs = quiet.of_pairs(block, which, self.alone)
                        for felt in np.searchsorted(candidates, kind.pair.take(looks, axis=1)):
                            of_one -= summed_by(felt, pairs, len(candidates))
            rows[:, alone] = np.maximum(of_one, 0.0)
            rows[:, kind.nothing] = 0.0
            nothing = self.onsets - rows.sum(axis=1)
            rows[:, kind.nothing] = np.maximum(nothing, 0.0)
            self._by_look[kind] = rows
        return self._by_look[kind]

    @property
    def as_felt(self) -> Floats:
        """The chances of listed states, those of pairs not listed counted with each of them alone.

        That is how a home sees them that said something: it feels one of the two at most. Shape
        (onsets, listed).
        """
        seen = self.listed.copy()
        seen[:, 1 : 1 + len(self.listing.block)] += self.beside
        return seen

    @cached_property
    def of_all(self) -> Floats:
        """P(onset, shared state) of all states, listed or not; (onsets, states); large."""
        listing, states = self.listing, self.listing.states
        made = np.zeros((len(self.listed), len(states.log_prior)))
        made[:, listing.at] = self.listed
        count = len(listing.block)
        one, other = (part[1 + count :] for part in states.pair)
        apart = np.flatnonzero(listing.apart[listing.block[one], listing.block[other]])
        logs = self.log_joint.take(1 + one[apart], axis=1) - self.log_joint[:, :1]
        logs += self.log_joint.take(1 + other[apart], axis=1)
        made[:, 1 + count + apart] += np.exp(logs - self.log_total)
        for quiet in self.quiet:
            for block in quiet.blocks:
                pairs = quiet.of_pairs(block, block.counted, self.alone)
                made[:, block.state[block.counted]] = pairs
        return made
