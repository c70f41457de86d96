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

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from rules.diagnosis import Diagnosis
from rules.diagnosis.answers import (
    answer_chances,
    answer_features,
    answer_table,
    changes_with_time,
    is_told,
    told_chances,
)
from rules.diagnosis.exact import Floats, Indices, product
from rules.diagnosis.home import HomeBelief, summed_by
from rules.diagnosis.household import without_care
from rules.diagnosis.keys import Keys, chosen, collapse
from rules.diagnosis.space import Space
from rules.model import ApartmentId, TopicId

__all__ = ["Masses", "Weighed", "weigh"]

# States this unlikely in all cannot make a question worth asking.
NEGLIGIBLE = 1e-4
# Topics that go by the heat of the emitter.
_FELT = ("q_hot", "q_down", "q_up")


@dataclass(frozen=True, eq=False, slots=True)
class Masses:
    """Mass that goes with each of some answers."""

    to_shared: Floats  # (answers, candidates that get any mass): on shared faults
    to_own: Floats  # (answers, own states): on own faults


@dataclass(frozen=True, eq=False, slots=True)
class Heaps:
    """Likely looks that some topics, and what was said before, cannot tell apart."""

    key: Indices  # (heaps,): which of the home's keys each has
    look: Indices  # (heaps,): a look of each
    mass: Floats  # (onsets, heaps)
    to_candidates: Floats  # (onsets x heaps, candidates): how much of it each fault gets


@dataclass(frozen=True, eq=False)
class Weighed:
    """The looks of a home that hold all but a negligible part of its mass, put down to causes."""

    space: Space
    home: HomeBelief
    hours: Floats  # (onsets,): since each onset
    looks: Indices  # (likely looks,)
    mass: Floats  # (onsets, likely looks); sums to 1
    key: Indices  # (likely looks,): number of the home's key below
    shared: Floats  # (onsets, keys, own states): P(own state, put down to shared faults | look)
    own: Floats  # (onsets, keys, own states): the rest, put down to own faults
    share: Floats  # (likely looks, 2): part of each member in what is put down to shared faults
    described: Floats  # (candidates + own states,): 0 for something else
    careless: float  # chance that this household answers without care

    def answers(self, topics: Sequence[TopicId]) -> Masses:
        """The masses that go with all answers to these topics, given now; one topic after another."""
        told = [t for t in topics if is_told(t)]
        by_topic = dict(zip(told, self._told(told), strict=True))
        felt = [t for t in topics if t in _FELT]
        seen = [t for t in topics if t not in _FELT and not is_told(t)]
        by_topic |= dict(
            zip([*felt, *seen], [*self._by_key(felt), *self._by_key(seen)], strict=True)
        )
        nothing = Masses(np.zeros((0, len(self.candidates))), np.zeros((0, self.own.shape[2])))
        found = [nothing, *(by_topic[t] for t in topics)]
        return Masses(
            np.concatenate([a.to_shared for a in found]), np.concatenate([a.to_own for a in found])
        )

    def _told(self, topics: Sequence[TopicId]) -> Iterator[Masses]:
        """Topics that the own state or else the look decides, all at once."""
        if not topics:
            return
        kind = self.home.kind
        heaps, _ = self._heaped(topics)
        tables = [told_chances(self.space, kind, t, heaps.look) for t in topics]
        by_look = np.hstack([self._taken(look, look.shape[1]) for look, _ in tables])
        by_own = np.hstack([self._taken(own, own.shape[1]) for _, own in tables])
        silent = np.isnan(by_own)
        decided = np.where(silent, 0.0, by_own)
        summed = product(self.shared, np.hstack([decided, silent])).take(heaps.key, axis=1)
        answers = by_own.shape[1]
        by_heap = summed[:, :, :answers] + by_look * summed[:, :, answers:]
        own = self._own_of(heaps)
        to_own = decided.T * own.sum(axis=0) + silent.T * product(by_look.T, own)
        to_shared = _to_candidates(np.moveaxis(by_heap, 2, 0), heaps)
        ends = np.cumsum([own.shape[1] for _, own in tables])[:-1]
        yield from map(Masses, np.split(to_shared, ends), np.split(to_own, ends))

    def _by_key(self, topics: Sequence[TopicId]) -> Iterator[Masses]:
        """Topics that the look and the own state decide together."""
        if not topics:
            return
        heaps, keys = self._heaped(topics)
        by_own_key = product(self.shared, np.eye(len(keys.own))[keys.of_own])
        by_own_key = by_own_key.take(heaps.key, axis=1)
        own = self._own_of(heaps)[None]
        own_by_onset = self.own.take(heaps.key, axis=1) * heaps.mass[:, :, None]
        for topic in topics:
            timed = changes_with_time(topic)
            chances = (
                self._timed(topic, heaps, keys) if timed else self._untimed(topic, heaps, keys)
            )
            by_heap = np.einsum("anho,nho->anh", chances, by_own_key)
            on_own = own_by_onset if timed else own
            to_own = np.einsum("anhs,nhs->as", chances.take(keys.of_own, axis=3), on_own)
            yield Masses(_to_candidates(by_heap, heaps), to_own)

    def _untimed(self, topic: TopicId, heaps: Heaps, keys: Keys) -> Floats:
        """P(answer | heap, own key), (answers, 1, heaps, own keys)."""
        by_key = answer_table(self.space, self.home.kind, keys, topic)
        return self._taken(by_key.take(keys.of_look[heaps.look], axis=1), len(by_key))[:, None]

    def _timed(self, topic: TopicId, heaps: Heaps, keys: Keys) -> Floats:
        """P(answer | onset, heap, own key), (answers, onsets, heaps, own keys)."""
        kind, hours = self.home.kind, self.hours[:, None, None]
        here = chosen(kind, heaps.look, keys.own)
        by_value = answer_chances(self.space, kind, here, topic, hours)
        return self._taken(np.stack([*by_value.values()]), len(by_value))

    def _heaped(self, topics: Sequence[TopicId]) -> tuple[Heaps, Keys]:
        kind = self.home.kind
        keys = kind.once(
            ("keys of topics", tuple(topics)),
            lambda: collapse(
                kind, [f for t in topics for f in answer_features(self.space, kind, t)]
            ),
        )
        code = self.key * len(keys.look) + keys.of_look[self.looks]
        _, first, of_look = np.unique(code, return_index=True, return_inverse=True)
        return self._heaps(first, of_look), keys

    def _heaps(self, first: Indices, of_look: Indices) -> Heaps:
        """From one look of each heap, and the heap of each look."""
        heaps, candidates = len(first), len(self.candidates)
        members = self.home.kind.members[self.looks]
        place = np.searchsorted(self.candidates, members).clip(0, max(candidates - 1, 0))
        index = (of_look[:, None] * max(candidates, 1) + place).reshape(-1)
        parts = (self.mass[:, :, None] * self.share).reshape(len(self.mass), -1)
        to_candidates = summed_by(index, parts, heaps * max(candidates, 1))
        return Heaps(
            self.key[first],
            self.looks[first],
            summed_by(of_look, self.mass, heaps),
            to_candidates.reshape(len(self.mass) * heaps, max(candidates, 1))[:, :candidates],
        )

    def _own_of(self, heaps: Heaps) -> Floats:
        """Mass on own faults; (heaps, own states)."""
        own: Floats = np.einsum("nhs,nh->hs", self.own.take(heaps.key, axis=1), heaps.mass)
        return own

    def _taken(self, chances: Floats, choices: int) -> Floats:
        """Chances of answers, given the care that this household takes."""
        careless = without_care(chances, choices)
        return (1 - self.careless) * chances + self.careless * careless

    def by_cause(self, answers: Masses) -> tuple[Floats, Floats]:
        """Mass over causes, and in all, before any answer (first) and with each.

        Shapes (1 + answers, candidates + own states) and (1 + answers,).
        """
        _, first = np.unique(self.key, return_index=True)
        heaps = self._heaps(first, self.key)
        explained = _to_candidates(self.shared.sum(axis=2)[None], heaps)
        to_shared = np.vstack([explained, answers.to_shared])
        to_own = np.vstack([self._own_of(heaps).sum(axis=0), answers.to_own])
        total = to_shared.sum(axis=1) + to_own.sum(axis=1)
        to_shared *= self.described[self.candidates]
        to_own *= self.described[-to_own.shape[1] :]
        to_own[:, 0] = 0.0
        return np.hstack([to_shared, to_own]), total

    @cached_property
    def candidates(self) -> Indices:
        """The shared faults that get any mass."""
        members = self.home.kind.members[self.looks]
        return np.unique(members[self.share > 0])


def _to_candidates(by_heap: Floats, heaps: Heaps) -> Floats:
    """Mass on shared faults, (answers, candidates), from (answers, onsets, heaps)."""
    return product(by_heap.reshape(len(by_heap), len(heaps.to_candidates)), heaps.to_candidates)


def weigh(diagnosis: Diagnosis, apartment: ApartmentId) -> Weighed:
    belief, cause = diagnosis.belief, diagnosis.causes[apartment]
    home = belief.homes[apartment]
    rows = belief.by_row(home)
    by_look = rows.sum(axis=0)
    order = np.argsort(by_look)
    looks = np.sort(order[np.cumsum(by_look[order]) > NEGLIGIBLE])
    behind = cause.explains[home.kind.members[looks]]
    how_many = behind.sum(axis=1)
    # Keys of what was said; where no shared fault explains it, all is put down to own faults.
    code, key = np.unique(home.keys.of_look[looks] * 2 + (how_many > 0), return_inverse=True)
    used, explained = np.divmod(code, 2)
    given = home.own_given_key.take(used, axis=1)
    part = np.einsum("n,nks->ks", belief.onsets, home.part_shared(used))
    shared = given * (part * explained[:, None])
    mass = rows[:, looks]
    mass = mass / mass.sum()
    return Weighed(
        space=belief.space,
        home=home,
        hours=belief.times.hours(belief.times.now),
        looks=looks,
        mass=mass,
        key=key,
        shared=shared,
        own=given - shared,
        share=behind / np.maximum(how_many, 1)[:, None],
        described=cause.described,
        careless=_careless(home, summed_by(key, mass, len(used)), given, used),
    )


def _careless(home: HomeBelief, mass: Floats, given: Floats, used: Indices) -> float:
    """Chance that this household answers without care; ``mass`` (onsets, keys)."""
    careless = home.careless
    if careless.shape[1] == 1:
        return float(careless[0, 0, 0])
    spread = careless.take(used, axis=1).take(home.keys.of_own, axis=2)
    return float(np.einsum("nk,nks,nks->", mass, given, np.broadcast_to(spread, given.shape)))
