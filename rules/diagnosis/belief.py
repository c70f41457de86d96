"""The exact posterior over what explains all evidence of a building.

A state is an onset together with a shared state. Given it, homes are independent.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from rules.diagnosis.exact import Floats, summed_by
from rules.diagnosis.home import HomeBelief
from rules.diagnosis.joint import add_homes, log_weights
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.listing import Chances, Listing
from rules.diagnosis.moment import Timeline
from rules.diagnosis.silence import silence_of
from rules.diagnosis.space import Space
from rules.model import ApartmentId

__all__ = ["Belief"]


@dataclass(frozen=True, eq=False)
class Belief:
    """The posterior of one building with all that it rests on."""

    space: Space
    times: Timeline
    homes: Mapping[ApartmentId, HomeBelief]
    shared_terms: Mapping[str, Floats]  # source -> (shared states,)
    speaking: frozenset[tuple[int, ...]]  # candidates that speak for each of those

    @cached_property
    def listing(self) -> Listing:
        """The states that are listed one by one."""
        kinds = frozenset(home.kind for home in self.homes.values())
        return self.space.listing(kinds, self.speaking)

    @cached_property
    def chances(self) -> Chances:
        """P(onset, shared state | evidence).

        Raises:
            ImpossibleEvidenceError: no state allows the evidence.
        """
        silent = Counter(home for home in self.homes.values() if home.silent)
        mute = [(home.kind, home.log_prior, n) for home, n in silent.items() if not home.said]
        silence = silence_of(self.space, mute, self.times)
        # What was said in homes that did not complain is tabled with their silence.
        silence += [(h.kind, h.log_total - h.unheard.log_total) for h in silent if h.said]
        heard = add_homes(self._log_unheard.copy(), self.listing, silence)
        return Chances.of(self.listing, heard)

    @cached_property
    def chances_unheard(self) -> Chances:
        """P(onset, shared state | all evidence but silence)."""
        return Chances.of(self.listing, self._log_unheard)

    @cached_property
    def _log_unheard(self) -> Floats:
        """Log weight of each onset and listed state with all evidence but silence."""
        weights = log_weights(self.listing, self.times, self.shared_terms.values())
        spoken = [home.unheard for home in self.homes.values() if home.said]
        said = [(home.kind, home.log_total) for home in spoken if home.said]
        return add_homes(weights, self.listing, said)

    @property
    def states(self) -> Floats:
        """P(onset, shared state | evidence) of all states, shape (onsets x shared states,); large."""
        return self.chances.of_all.reshape(-1)

    @property
    def prior(self) -> Floats:
        """P(shared state) before any evidence; the onset is independent of it then."""
        return self.space.states.prior

    @property
    def onsets(self) -> Floats:
        """P(onset | evidence)."""
        return self.chances.onsets

    @cached_property
    def _rows(self) -> dict[HomeClass, Floats]:
        return {}

    def by_row(self, home: HomeBelief) -> Floats:
        """P(onset, look | evidence) of a home: (onsets, looks).

        A look of two faults is one state. Of one fault it is what is left of all states with that
        fault, so no sum over thousands of states is needed for each class.
        """
        kind = home.kind
        if kind not in self._rows:
            chances = self.chances
            candidates, alone = kind.singles
            rows = chances.listed.take(chances.listing.pairs(kind), axis=1)
            rows[:, kind.nothing] = 0.0
            in_pairs = rows.take(kind.square, axis=1).sum(axis=1)
            left = chances.with_each.take(candidates, axis=1) - in_pairs
            rows[:, alone] = np.maximum(left, 0.0)
            nothing = chances.onsets - rows.sum(axis=1)
            rows[:, kind.nothing] = np.maximum(nothing, 0.0)
            self._rows[kind] = rows
        return self._rows[kind]

    def by_key(self, apartment: ApartmentId) -> tuple[HomeBelief, Floats]:
        """A home, and P(onset, look key, own state | evidence) of it."""
        home = self.homes[apartment].opened
        by_look_key = summed_by(home.keys.of_look, self.by_row(home), home.keys.shape[0])
        joint: Floats = home.own_given_key * by_look_key[:, :, None]
        return home, joint
