"""The mass over causes that goes with each answer that a household may give.

Theory of operation
-------------------
No answer is inferred again: the mass over causes that goes with it is linear in the one posterior. The
chance of an answer is what the home's own fault says of it, else what the look says, else what is usual.
Where that goes by few keys it is a sum of terms by look and by own state (``asked``), and two matrix
products weigh all such answers at once; what is felt of the heat is weighed state by state. States are
onsets with looks; those that neither what was said nor the questions tell apart are put in heaps first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from rules.choosing.asked import Asked
from rules.data import table
from rules.diagnosis import Diagnosis
from rules.diagnosis.blame import blame_of
from rules.diagnosis.exact import Floats, Indices, gathered, product, starts_of, summed_by
from rules.diagnosis.home import HomeBelief
from rules.diagnosis.keys import Keys, joined, numbered
from rules.diagnosis.moment import Since
from rules.diagnosis.space import Space
from rules.model import ApartmentId, TopicId

__all__ = ["Weighed", "weigh"]

# States this unlikely in all move what a question is worth by a quarter of a minute at most (0.22 in 192
# scenes of 12 and 60 homes, 0.04 in the median); one that is asked saves a whole minute.
NEGLIGIBLE = 3e-3
_FRACTION_BITS = 52


@dataclass(frozen=True, eq=False, slots=True)
class _Heaps:
    """Likely states that some topics, and what was said before, cannot tell apart.

    They stand in the order of the home's keys.
    """

    first: Indices  # (heaps,): one state of each
    mass: Floats  # (heaps,)
    to_candidates: Floats  # (heaps, candidates): how much of it each fault gets


@dataclass(frozen=True, eq=False)
class Weighed:
    """The states of a home that hold all but a negligible part of its mass, put down to causes."""

    space: Space
    home: HomeBelief
    since: Since  # what now is, by each onset
    onset: Indices  # (states,)
    look: Indices  # (states,)
    mass: Floats  # (states,); sums to 1
    key: Indices  # (states,): number of the home's key below
    both: Floats  # (keys, own keys): P(own key | state)
    shared: Floats  # (keys, own keys): what of it is put down to shared faults
    members: Indices  # (2, states)
    share: Floats  # (2, states): part of each member in what is put down to shared faults
    described: Floats  # (candidates + own states,): 0 for something else
    careless: float  # chance that this household answers without care
    negligible: float  # share of the mass that may be left out

    def by_cause(self, topics: Sequence[TopicId]) -> tuple[Floats, Floats]:
        """Mass over causes, and in all, before any answer (first) and with each answer given now.

        Args:
            topics: with usable answers, which stand one topic after another.

        Returns:
            Shapes (1 + answers, candidates + own states) and (1 + answers,).
        """
        kind = self.home.kind
        asked = kind.once(("asked", tuple(topics)), lambda: Asked.of(self.space, kind, topics))
        heaps = self._heaped(asked.keys)
        weighed = np.concatenate([self._by_few_keys(asked, heaps), self._by_heat(asked, heaps)])
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

    def _by_few_keys(self, asked: Asked, heaps: _Heaps) -> Floats:
        """Mass by cause with no answer and with what is told or seen; (answers, causes)."""
        home, key = self.home, self.key.take(heaps.first)
        look = asked.keys.of_look.take(self.look.take(heaps.first))
        by_look = asked.by_look.take(look, axis=0)
        by_own = home.keys.once(
            ("by own", asked, home.log_prior.tobytes()),
            lambda: product(home.states_of_key, asked.by_own),
        )
        by_heap = product(self.shared, by_own).take(key, axis=0) * by_look
        weighed = asked.distinct.take(look, axis=0)
        weighed *= heaps.mass[:, None]
        by_key = np.add.reduceat(weighed, starts_of(key), axis=0)
        on_own = product((self.both - self.shared).T, by_key).take(asked.part, axis=1)
        on_own = on_own.take(home.keys.of_own, axis=0) * asked.by_own
        on_own *= home.part_of_key[:, None]
        terms = np.concatenate([product(heaps.to_candidates.T, by_heap), on_own])
        return np.add.reduceat(terms, asked.first, axis=1).T

    def _by_heat(self, asked: Asked, heaps: _Heaps) -> Floats:
        """The same with what is felt: by own keys of the home and of all these topics together."""
        home, felt = self.home, asked.felt
        if not felt:
            return np.zeros((0, len(self.candidates) + len(home.log_prior)))
        key = self.key.take(heaps.first)
        first, finer = home.keys.once(
            ("finer", asked), lambda: joined([home.keys.of_own, asked.of_own], len(home.log_prior))
        )
        part, coarse = np.bincount(finer, home.part_of_key), home.keys.of_own[first]
        # What can count of heaps with own states, one after another.
        both = self.both.take(coarse, axis=1) * part
        both = both.take(key, axis=0) * heaps.mass[:, None]
        likely = _likely(both.reshape(-1), self.negligible)
        heap, own = np.divmod(likely, len(first))
        to_shared = self.shared.take(key.take(heap) * self.shared.shape[1] + coarse.take(own))
        to_shared *= part.take(own)
        to_own = both.take(likely) - to_shared * heaps.mass.take(heap)
        state, own_state = heaps.first.take(heap), first.take(own)
        at = self.since, self.onset.take(state), self.look.take(state), own_state
        chances = np.concatenate([r.chances(*at, len(r.values) - 1) for r in felt])
        starts = starts_of(heap)
        by_heap = np.add.reduceat(chances * to_shared, starts, axis=1)
        on_own = summed_by(own, chances * to_own, len(first)).take(finer, axis=1)
        return np.hstack(
            [
                product(by_heap, heaps.to_candidates.take(heap.take(starts), axis=0)),
                on_own * (home.part_of_key / part.take(finer)),
            ]
        )

    def _heaped(self, keys: Keys) -> _Heaps:
        """The likely states by keys of topics and by what was said."""
        code = self.key * len(keys.look) + keys.of_look.take(self.look)
        first, of_state = numbered(code)
        heaps, candidates = len(first), len(self.candidates)
        place = (of_state * candidates + self._place).reshape(-1)
        to_candidates = gathered(place, (self.mass * self.share).reshape(-1), heaps * candidates)
        return _Heaps(
            first,
            gathered(of_state, self.mass, heaps),
            to_candidates.reshape(-1, candidates),
        )

    @cached_property
    def candidates(self) -> Indices:
        """The shared faults that get any mass; if none does, one that gets none."""
        there = np.zeros(len(self.space.shared) + 1, dtype=bool)
        there[self.members[self.share > 0]] = True
        return np.flatnonzero(there) if there.any() else np.zeros(1, dtype=np.intp)

    @cached_property
    def _place(self) -> Indices:
        """Where the members of each state stand among the candidates; (2, states)."""
        place = np.zeros(len(self.space.shared) + 1, dtype=np.intp)
        place[self.candidates] = np.arange(len(self.candidates))
        return place.take(self.members)


def weigh(diagnosis: Diagnosis, apartment: ApartmentId, negligible: float = NEGLIGIBLE) -> Weighed:
    """What is believed of a home that complained, ready for questions.

    The unlikeliest states go, that together hold no more than the negligible share of the mass.
    """
    belief, cause = diagnosis.belief, diagnosis.causes[apartment]
    home = belief.homes[apartment]
    blame = blame_of(home, cause.explains)
    rows = belief.by_row(home)
    likely = _likely(rows.reshape(-1), negligible)
    onset, look = np.divmod(likely, rows.shape[1])
    mass = rows.take(likely)
    mass /= mass.sum()
    first, key = numbered(blame.place.take(likely))
    at = onset.take(first), look.take(first)
    both, shared = blame.rows(home, *at)
    by_key = gathered(key, mass, len(first))[:, None]
    careless = home.careless(*at) * by_key
    return Weighed(
        space=belief.space,
        home=home,
        since=belief.since(apartment),
        onset=onset,
        look=look,
        mass=mass,
        key=key,
        both=both,
        shared=shared,
        members=home.kind.pair.take(look, axis=1),
        share=blame.share.take(look, axis=1),
        described=cause.described,
        careless=float((careless * both).sum()),
        negligible=negligible,
    )


def _likely(mass: Floats, negligible: float) -> Indices:
    """All entries but the unlikeliest that are negligible together."""
    # By powers of two, which the first bits of a double hold: far quicker than sorting.
    power = mass.view(np.int64) >> _FRACTION_BITS
    so_far = np.cumsum(np.bincount(power, mass))
    return np.flatnonzero(power >= np.searchsorted(so_far, negligible, side="right"))
