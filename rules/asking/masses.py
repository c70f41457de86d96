"""The mass over causes that goes with each answer that a household may give.

Theory of operation
-------------------
No answer is inferred again: the mass over causes that goes with it is linear in the one posterior. The
chance of an answer is what the home's own fault says of it, else what the look says, else what is usual.
Where the usual does not depend on both, a table of answers by own state and one by look suffice for all
such questions at once; the others are weighed by their keys. Looks that neither what was said nor the
questions tell apart are put in heaps first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from rules.asking.asked import Asked
from rules.data import table
from rules.diagnosis import Diagnosis
from rules.diagnosis.exact import Floats, Indices, product, summed_by
from rules.diagnosis.home import HomeBelief
from rules.diagnosis.keys import Keys, joined, numbered
from rules.diagnosis.space import Space
from rules.model import ApartmentId, TopicId

__all__ = ["Weighed", "weigh"]

# States this unlikely in all cannot make a question worth asking.
NEGLIGIBLE = 1e-4
_LEAST = 1e-300


@dataclass(frozen=True, eq=False, slots=True)
class _Heaps:
    """Likely looks that some topics, and what was said before, cannot tell apart."""

    key: Indices  # (heaps,): which of the home's keys each has
    look: Indices  # (heaps,): a look of each
    mass: Floats  # (onsets, heaps)
    to_candidates: Floats  # (onsets x heaps, candidates): how much of it each fault gets

    def by_candidate(self, by_heap: Floats) -> Floats:
        """Mass on shared faults, (answers, candidates), from (answers, onsets, heaps)."""
        return product(by_heap.reshape(len(by_heap), len(self.to_candidates)), self.to_candidates)


@dataclass(frozen=True, eq=False)
class Weighed:
    """The looks of a home that hold all but a negligible part of its mass, put down to causes."""

    space: Space
    home: HomeBelief
    hours: Floats  # (onsets,): since each onset
    looks: Indices  # (likely looks,)
    mass: Floats  # (onsets, likely looks); sums to 1
    explained: Indices  # (likely looks,): 1 where a shared fault explains what was said
    key: Indices  # (likely looks,): number of the home's key below
    shared: Floats  # (onsets, keys, own keys): P(own key, put down to shared faults | look)
    own: Floats  # (onsets, keys, own keys): the rest, put down to own faults
    share: Floats  # (likely looks, 2): part of each member in what is put down to shared faults
    described: Floats  # (candidates + own states,): 0 for something else
    careless: float  # chance that this household answers without care

    def by_cause(self, topics: Sequence[TopicId]) -> tuple[Floats, Floats]:
        """Mass over causes, and in all, before any answer (first) and with each answer given now.

        Args:
            topics: with usable answers, which stand one topic after another.

        Returns:
            Shapes (1 + answers, candidates + own states) and (1 + answers,).
        """
        kind = self.home.kind
        asked = kind.once(("asked", tuple(topics)), lambda: Asked.of(self.space, kind, topics))
        weighed = np.concatenate([self._by_few_keys(asked), self._by_heat(asked)])
        # Without care part of an answer is drawn from the choices, whatever the cause.
        drawn = self.careless * float(table("answers")["careless"]["drawn"])
        with_care = (1 - drawn) * asked.all_of
        with_care[:, 0] += drawn / asked.choices
        with_care[0, 0] = 1.0
        mass = product(with_care, weighed)
        total = mass.sum(axis=1)
        shared = len(self.candidates)
        mass[:, :shared] *= self.described[self.candidates]
        mass[:, shared:] *= self.described[-len(self.home.log_prior) :]
        mass[:, shared] = 0.0
        return mass, total

    def _by_few_keys(self, asked: Asked) -> Floats:
        """Mass by cause with no answer and with what is told or seen; (answers, causes)."""
        home, heaps = self.home, self._heaped(asked.few)
        answers, topics = 1 + len(asked.topic), asked.silent.shape[1]
        to_wanted = product(home.states_of_key, asked.wanted).T
        shared = product(to_wanted, self.shared.reshape(-1, to_wanted.shape[1]).T)
        shared = shared.reshape(-1, *self.shared.shape[:2]).take(heaps.key, axis=2)
        decided, silent = shared[:answers], shared[answers : answers + topics]
        by_look = asked.by_look.take(asked.few.of_look[heaps.look], axis=0).T
        decided[1:] += by_look[:, None, :] * silent.take(asked.topic, axis=0)
        # Mass on own faults; (heaps, own keys).
        own = np.einsum("nho,nh->ho", self.own.take(heaps.key, axis=1), heaps.mass)
        by_own_state = home.by_own_state(own.sum(axis=0))
        on_own = asked.silent.T.take(asked.topic, axis=0) * home.by_own_state(product(by_look, own))
        on_own += asked.decided.T * by_own_state
        by_heap, to_own, at = [decided], [by_own_state[None], on_own], answers + topics
        for reply in asked.seen:
            chances = reply.tables[0, :-1].take(reply.keys.of_look[heaps.look], axis=1)
            own_keys = chances.shape[2]
            by_heap.append(np.einsum("aho,onh->anh", chances, shared[at : at + own_keys]))
            # By every own key of the topic with every own key of the home; then those that occur.
            crossed = product(np.swapaxes(chances, 1, 2), own).reshape(len(chances), -1)
            occurring = reply.keys.of_own * own.shape[1] + home.keys.of_own
            to_own.append(crossed.take(occurring, axis=1) * home.part_of_key)
            at += own_keys
        return np.hstack([heaps.by_candidate(np.concatenate(by_heap)), np.concatenate(to_own)])

    def _by_heat(self, asked: Asked) -> Floats:
        """The same with what is felt: by own keys of the home and of all these topics together."""
        home, felt = self.home, asked.felt
        if not felt:
            return np.zeros((0, len(self.candidates) + len(home.log_prior)))
        heaps = self._heaped(asked.many)
        first, finer = home.keys.once(
            ("finer", asked.many),
            lambda: joined([home.keys.of_own, asked.many.of_own], len(home.log_prior)),
        )
        part, coarse = np.bincount(finer, home.part_of_key), home.keys.of_own[first]
        shared = (self.shared.take(coarse, axis=2) * part).take(heaps.key, axis=1)
        own = self.own.take(coarse, axis=2).take(heaps.key, axis=1) * heaps.mass[:, :, None]
        by_heap, to_own = [], []
        for reply in felt:
            looks, own_keys = reply.keys.of_look[heaps.look], reply.keys.of_own[first]
            chances = reply.chances(self.hours, looks, own_keys, len(reply.values) - 1)
            by_heap.append(np.einsum("anho,nho->anh", chances, shared))
            by_onset = own if reply.is_phased else own.sum(axis=0, keepdims=True)
            to_own.append(np.einsum("anho,nho->ao", chances, by_onset))
        on_own = np.concatenate(to_own).take(finer, axis=1) * home.part_of_key
        return np.hstack([heaps.by_candidate(np.concatenate(by_heap)), on_own])

    def _heaped(self, keys: Keys) -> _Heaps:
        """The likely looks by what was said and by keys of topics."""
        home = self.home
        _, code = home.keys.once(
            ("heaps", keys),
            lambda: joined([home.keys.of_look, keys.of_look], home.kind.shape[0]),
        )
        first, of_look = numbered(code.take(self.looks) * 2 + self.explained)
        heaps, candidates = len(first), len(self.candidates)
        index = (of_look[:, None] * candidates + self._place).reshape(-1)
        to_candidates = summed_by(index, self._parts, heaps * candidates)
        return _Heaps(
            self.key[first],
            self.looks[first],
            summed_by(of_look, self.mass, heaps),
            to_candidates.reshape(-1, candidates),
        )

    @cached_property
    def _parts(self) -> Floats:
        """The mass of each look that goes to each of its members; (onsets, likely looks x 2)."""
        return (self.mass[:, :, None] * self.share).reshape(len(self.mass), -1)

    @cached_property
    def candidates(self) -> Indices:
        """The shared faults that get any mass; if none does, one that gets none."""
        there = np.zeros(len(self.space.shared) + 1, dtype=bool)
        there[self.home.kind.members[self.looks][self.share > 0]] = True
        return np.flatnonzero(there) if there.any() else np.zeros(1, dtype=np.intp)

    @cached_property
    def _place(self) -> Indices:
        """Where the members of each look stand among the candidates; (likely looks, 2)."""
        place = np.zeros(len(self.space.shared) + 1, dtype=np.intp)
        place[self.candidates] = np.arange(len(self.candidates))
        return place[self.home.kind.members[self.looks]]


def weigh(diagnosis: Diagnosis, apartment: ApartmentId) -> Weighed:
    """What is believed of a home that complained, ready for questions."""
    belief, cause = diagnosis.belief, diagnosis.causes[apartment]
    home = belief.homes[apartment]
    rows = belief.by_row(home)
    looks = _likely(rows.sum(axis=0))
    behind = cause.explains[home.kind.members[looks]]
    how_many = behind.sum(axis=1)
    # Keys of what was said; where no shared fault explains it, all is put down to own faults.
    explained = (how_many > 0).astype(np.intp)
    first, key = numbered(home.keys.of_look.take(looks) * 2 + explained)
    used, by_shared = home.keys.of_look[looks[first]], explained[first]
    given = home.given.take(used, axis=1)
    part = home.shared.take(used, axis=1) / np.maximum(given, _LEAST)
    shared = given * (np.einsum("n,nko->ko", belief.onsets, part) * by_shared[:, None])
    mass = rows[:, looks]
    mass /= mass.sum()
    return Weighed(
        space=belief.space,
        home=home,
        hours=belief.times.hours(belief.times.now),
        looks=looks,
        mass=mass,
        explained=explained,
        key=key,
        shared=shared,
        own=given - shared,
        share=behind / np.maximum(how_many, 1)[:, None],
        described=cause.described,
        careless=_careless(home, summed_by(key, mass, len(used)), given, used),
    )


def _likely(by_look: Floats) -> Indices:
    """All looks but the unlikeliest that are negligible together."""
    # Nothing below this can count, even all of it: only the rest needs sorting.
    tiny = by_look < NEGLIGIBLE / len(by_look)
    ordered = np.sort(by_look[~tiny])
    so_far = np.cumsum(ordered) + by_look[tiny].sum()
    least = ordered[np.searchsorted(so_far, NEGLIGIBLE, side="right")]
    return np.flatnonzero(by_look >= least)


def _careless(home: HomeBelief, mass: Floats, given: Floats, used: Indices) -> float:
    """Chance that this household answers without care; ``mass`` (onsets, keys)."""
    careless = home.careless(used)
    if careless.shape[1] == 1:
        return float(careless[0, 0, 0])
    return float(np.einsum("nk,nk->", mass, (given * careless).sum(axis=2)))
