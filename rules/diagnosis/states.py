"""The states a building can be in: what is shared, what is each home's own, how likely beforehand.

Theory of operation
-------------------
Shared faults: none, any one, or any two at once. Given the shared state, homes are independent, and each
has at most one fault of its own. All this depends on the plant and the day, not on the weather.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property, lru_cache

import numpy as np

from rules.diagnosis.exact import Floats, Indices, normalised
from rules.faults.candidate import heard_afar
from rules.faults.candidates import (
    SOMETHING_ELSE,
    Candidate,
    local_candidates,
    shared_candidates,
)
from rules.faults.lives import LearnedLives
from rules.faults.priors import beta_factor, split_by_cause
from rules.heat.columns import HEALTHY, Rows
from rules.model import ApartmentId, ComponentId, FaultId
from rules.plant import Apartment, Plant

__all__ = ["States", "carried", "kind_of", "states_of"]


@dataclass(frozen=True, eq=False)
class States:
    """All shared states of a plant on a day, their prior, and every home's own faults."""

    plant: Plant
    on: date
    shared: tuple[Candidate, ...]
    members: Indices  # (states, 2): candidate numbers, -1 for none
    log_prior: Floats  # (states,)
    log_in_common: Floats  # (pairs,): that part of it which is one cause of both; -inf for most
    lives: LearnedLives
    _local: dict[ApartmentId, tuple[Candidate, ...]] = field(default_factory=dict)
    _local_log_prior: dict[ApartmentId, Floats] = field(default_factory=dict)
    _where: dict[int, Indices] = field(default_factory=dict)

    @cached_property
    def prior(self) -> Floats:
        """P(shared state), (states,)."""
        return normalised(self.log_prior)

    @cached_property
    def pair(self) -> tuple[Indices, Indices]:
        """First and second member of each state; none has the number after all candidates."""
        first, second = np.ascontiguousarray(self.members.T) % (len(self.shared) + 1)
        return first, second

    @cached_property
    def described(self) -> Floats:
        """(candidates,): 0 for something else, which is no suspect."""
        return np.array([float(c.fault != SOMETHING_ELSE) for c in self.shared])

    @cached_property
    def places(self) -> Mapping[tuple[FaultId, ComponentId], int]:
        """Number of each candidate by name; of several of one name the first."""
        numbered = [((c.fault, c.component), n) for n, c in enumerate(self.shared)]
        return dict(reversed(numbered))

    def where(self, candidate: int) -> Indices:
        """The states in which a candidate is there."""
        if candidate not in self._where:
            self._where[candidate] = np.flatnonzero((self.members == candidate).any(axis=1))
        return self._where[candidate]

    @cached_property
    def chains(self) -> Rows:
        """Each candidate's chain as a home knows it; the last row, of no candidate, is healthy."""
        return np.stack([*(carried(c) for c in self.shared), HEALTHY])

    def number_of_pair(self, one: Indices, other: Indices) -> Indices:
        """Number of the state of two candidates; of a candidate with itself any."""
        first, second, count = np.minimum(one, other), np.maximum(one, other), len(self.shared)
        before = first * count - first * (first + 1) // 2
        return np.asarray(np.minimum(count + before + second - first, len(self.log_prior) - 1))

    def local(self, apartment: ApartmentId) -> tuple[Candidate, ...]:
        """This home's own faults, in the order of its own states from 1."""
        if apartment not in self._local:
            home = self.plant.apartment(apartment)
            self._local[apartment] = local_candidates(self.plant, home, self.on, self.lives)
        return self._local[apartment]

    def local_places(self, apartment: ApartmentId) -> Mapping[tuple[FaultId, ComponentId], int]:
        """Own state of each of a home's own faults by name; of several of one name the first."""
        if apartment not in self._local_places:
            named = [((c.fault, c.component), n) for n, c in enumerate(self.local(apartment), 1)]
            self._local_places[apartment] = dict(reversed(named))
        return self._local_places[apartment]

    def local_log_prior(self, apartment: ApartmentId) -> Floats:
        """Log P(own state) of one home; its parts' ages count. Own state 0 is "nothing".

        Homes of equal ages have the same array.
        """
        if apartment not in self._local_log_prior:
            home = self.plant.apartment(apartment)
            parts = (home.valve, home.thermostat, home.circulator, home.relay)
            ages = tuple(None if part is None else part.installed for part in parts)
            body = None if home.valve is None else home.valve.body_since
            name = (*kind_of(self.plant, home), ages, body)
            if name not in self._log_priors:
                chances = np.array([c.prior for c in self.local(apartment)])
                nothing = max(1 - chances.sum(), 0.05)
                self._log_priors[name] = np.log(np.concatenate([[nothing], chances]))
            self._local_log_prior[apartment] = self._log_priors[name]
        return self._local_log_prior[apartment]

    @cached_property
    def _local_places(self) -> dict[ApartmentId, Mapping[tuple[FaultId, ComponentId], int]]:
        return {}

    @cached_property
    def _log_priors(self) -> dict[Hashable, Floats]:
        return {}

    @cached_property
    def heads(self) -> Mapping[ComponentId, tuple[ApartmentId, ...]]:
        """The homes that each heat source or cascade feeds."""
        homes: dict[ComponentId, list[ApartmentId]] = {}
        head_of = {loop.id: self.plant.head_of(loop.id) for loop in self.plant.loops}
        for home in self.plant.apartments:
            homes.setdefault(head_of[home.loop], []).append(home.id)
        return {head: tuple(fed) for head, fed in homes.items()}


@lru_cache(maxsize=6)
def states_of(plant: Plant, on: date, lives: LearnedLives) -> States:
    shared = shared_candidates(plant, on, lives)
    count = len(shared)
    first, second = np.triu_indices(count, k=1)
    members = np.full((1 + count + len(first), 2), -1, dtype=np.intp)
    members[1 : 1 + count, 0] = np.arange(count)
    members[1 + count :, 0], members[1 + count :, 1] = first, second
    chances, in_common = _common_cause(shared, first, second)
    odds = np.append(np.log(chances / (1 - chances)), 0.0)  # the last entry serves member -1
    none = np.log1p(-chances).sum()
    log_prior = odds[members].sum(axis=1) + none
    with np.errstate(divide="ignore"):  # most pairs share no cause
        by_one_cause = np.log(in_common) + none
    log_prior[1 + count :] = np.logaddexp(log_prior[1 + count :], by_one_cause)
    return States(plant, on, shared, members, log_prior, by_one_cause, lives)


def _common_cause(
    shared: Sequence[Candidate], first: Indices, second: Indices
) -> tuple[Floats, Floats]:
    """Chance of each candidate of its own, and of each pair of like ones from what they share.

    No more than two faults are there at once, so what one shares with several is spread over pairs
    with each: its own chance of being there stays what it was.
    """
    rows: dict[object, int] = {}
    row = np.array(
        [rows.setdefault((c.fault, c.row.at) if c.row else n, n) for n, c in enumerate(shared)]
    )
    like = np.bincount(row, minlength=len(shared))[row] - 1
    beta = np.array([0.0 if c.row is None else beta_factor(c.row.at) for c in shared])
    chances = np.array([c.prior for c in shared])
    own, common = split_by_cause(chances, np.where(like > 0, beta, 0.0))
    pairs = np.where(row[first] == row[second], np.sqrt(common[first] * common[second]), 0.0)
    return own, pairs / np.maximum(like[first], 1)


def kind_of(plant: Plant, home: Apartment) -> tuple[object, ...]:
    """What makes two homes the same to physics and to the catalogue."""
    return (
        home.loop,
        home.zoning,
        home.emitter,
        None if home.valve is None else (home.valve.kind, home.valve.transformer),
        None if home.thermostat is None else home.thermostat.kind,
        home.circulator is not None,
        None if home.relay is None else home.relay.transformer,
        plant.head_of(home.loop),
        plant.riser_of(home.id),
        plant.is_highest(home.id),
        None if plant.run_of(home.id) is None else home.id,  # its place on the run is its own
    )


def carried(candidate: Candidate, home: ApartmentId | None = None) -> Rows:
    """A shared fault's chain as one home knows it: its noise and water are farther away."""
    return heard_afar(candidate, candidate.chain if home is None else candidate.by_home[home])
