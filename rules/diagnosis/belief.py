"""The exact posterior over what explains all evidence of a building.

A state is an onset together with a shared state. Given it, homes are independent.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from rules.diagnosis.exact import Floats, summed_by
from rules.diagnosis.home import HomeBelief
from rules.diagnosis.joint import log_weights
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.listing import Chances, Listing
from rules.diagnosis.moment import Timeline
from rules.diagnosis.space import Space
from rules.model import ApartmentId

__all__ = ["Belief", "totals"]


@dataclass(frozen=True, eq=False)
class Belief:
    """The posterior of one building with all that it rests on."""

    space: Space
    times: Timeline
    homes: Mapping[ApartmentId, HomeBelief]
    shared_terms: Mapping[str, Floats]  # source -> (shared states,)
    speaking: frozenset[tuple[int, ...]]  # candidates that speak for each of those
    listing: Listing
    log_joint: Floats  # (onsets, listed): of a state and all evidence, not normalised

    @property
    def log_prior(self) -> Floats:
        """Log P(onset, shared state) before any evidence; (onsets x shared states,)."""
        prior: Floats = np.log(self.times.chances)[:, None] + self.space.log_prior
        return prior.reshape(-1)

    @cached_property
    def chances(self) -> Chances:
        """P(onset, shared state | evidence).

        Raises:
            ImpossibleEvidenceError: no state allows the evidence.
        """
        return Chances.of(self.listing, self.log_joint)

    @cached_property
    def chances_unheard(self) -> Chances:
        """P(onset, shared state | all evidence but silence)."""
        # What was said in homes that did not complain is tabled with their silence.
        spoken = [
            home.without_silence() if home.silent else home
            for home in self.homes.values()
            if home.said
        ]
        listing = self.space.listing(frozenset(home.kind for home in spoken), self.speaking)
        checks = self.shared_terms.values()
        return Chances.of(listing, log_weights(listing, self.times, checks, totals(spoken)))

    @property
    def states(self) -> Floats:
        """P(onset, shared state | evidence) of all states, shape (onsets x shared states,); large."""
        return self.chances.of_all.reshape(-1)

    @property
    def prior(self) -> Floats:
        """P(shared state) before any evidence; the onset is independent of it then."""
        return self.space.states.prior

    @property
    def shared(self) -> Floats:
        """P(shared state | evidence); large."""
        total: Floats = self.chances.of_all.sum(axis=0)
        return total

    @property
    def onsets(self) -> Floats:
        """P(onset | evidence)."""
        return self.chances.onsets

    @cached_property
    def of_source(self) -> Mapping[str, Sequence[tuple[ApartmentId, HomeBelief]]]:
        """The homes that each source, silence among them, says something of."""
        found: dict[str, list[tuple[ApartmentId, HomeBelief]]] = {}
        for apartment, home in self.homes.items():
            for source in home.said:
                found.setdefault(source, []).append((apartment, home))
        return found

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
            rows = chances.listed.take(self.listing.pairs(kind), axis=1)
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


def totals(homes: Iterable[HomeBelief]) -> list[tuple[HomeClass, Floats]]:
    """Of each home its class, and log P(what it said | onset, look)."""
    return [(home.kind, home.log_total) for home in homes]
