"""Which looks and own states one home's evidence cannot tell apart.

Theory of operation
-------------------
From one home a pair of shared faults is one of thousands of looks, but what its people said depends on
few features of them: where the temperature goes, a noise, an answer that a fault's row gives. Looks
with equal features form one key, own states likewise, and likelihoods are computed once per pair of
keys. Each source has keys of its own, and the keys of several are as fine as all of them need. Of those
pairs many still share one course of temperature: a likelihood that depends on the course and little else
is computed at *spots*, one of each kind of pair, and spread from there. Nothing is approximated: keys
and spots are exactly as fine as the evidence needs.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeVar

import numpy as np

from rules.diagnosis.exact import Floats, Indices
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.memo import Memo
from rules.diagnosis.ways import Ways
from rules.heat.rooms import RoomCourse

__all__ = [
    "Feature",
    "Keys",
    "Spots",
    "collapse",
    "feature",
    "its_own",
    "joined",
    "numbered",
    "physics",
]

T = TypeVar("T")

# Derived arrays kept per keys; each is some hundred kilobytes.
_MOST_KEPT = 12
# Codes up to so many times their number are counted in a table, larger ones sorted.
_MOST_COUNTED = 8


@dataclass(frozen=True, eq=False, slots=True)
class Feature:
    """Something a likelihood depends on: which looks, and which own states, have it alike."""

    name: Hashable
    of_look: Indices  # (looks,): equal numbers have it alike
    of_own: Indices  # (own states,)


@dataclass(frozen=True, eq=False, slots=True)
class Spots:
    """One pair of keys of each kind that has a course of temperature and some features alike."""

    look: Indices  # (spots,): a look of each
    own: Indices  # (spots,): an own state
    course: Indices  # (spots,): number of its course
    of_key: Indices  # (look keys, own keys): the spot of each pair


@dataclass(frozen=True, eq=False)
class Keys:
    """Looks and own states put together by features."""

    kind: HomeClass
    features: tuple[Feature, ...]
    of_look: Indices  # (looks,): the key of each
    of_own: Indices  # (own states,)
    look: Indices  # (look keys,): one look of each key
    own: Indices  # (own keys,)
    memo: Memo = field(default_factory=lambda: Memo(_MOST_KEPT))

    @property
    def shape(self) -> tuple[int, int]:
        """Numbers of look keys and of own keys."""
        return len(self.look), len(self.own)

    @cached_property
    def course(self) -> RoomCourse:
        """Where temperatures go; arrays (look keys, own keys)."""
        kind = self.kind
        of_looks = kind.course.only(kind.pattern_of_look[self.look])
        return of_looks.only((slice(None), kind.pattern_of_own[self.own]))

    @cached_property
    def ways(self) -> Ways:
        """The distinct courses of temperature, by all that a thermostat makes of them."""
        return Ways.of(self.course)

    def drift_f(self, hours: Floats) -> Floats:
        """How far rooms are from the set point so many hours after the onset.

        Shape (hours, look keys, own keys).
        """
        return self.ways.drift_f(hours).take(self.ways.of_pair, axis=1)

    @cached_property
    def of_course(self) -> Indices:
        """Number of the course of temperature of each pair; (look keys, own keys)."""
        kind = self.kind
        rows = kind.physics.of_pattern.take(kind.pattern_of_look[self.look], axis=0)
        return rows.take(kind.pattern_of_own[self.own], axis=1)

    def pick(self, by_key: Floats, looks: Indices, own: Indices) -> Floats:
        """What these keys say of some looks with some own states; the last two axes."""
        rows, columns = self.of_look.take(looks), self.of_own.take(own)
        if len(looks) < len(self.look):
            return by_key.take(rows, axis=-2).take(columns, axis=-1)
        return by_key.take(columns, axis=-1).take(rows, axis=-2)

    def spread(self, by_key: Floats, finer: Keys) -> Floats:
        """The same at keys that are as fine or finer."""
        # As many keys are the same keys.
        if len(finer.own) > len(self.own):
            by_key = by_key.take(self.of_own.take(finer.own), axis=-1)
        if len(finer.look) > len(self.look):
            by_key = by_key.take(self.of_look.take(finer.look), axis=-2)
        return by_key

    def spots(self, features: tuple[Feature, ...]) -> Spots:
        """The pairs that differ in course or in one of these features."""

        def make() -> Spots:
            joint, looks = self.of_course.astype(np.intp), self.shape[0]
            for f in features:
                by_look, by_own = f.of_look[self.look], f.of_own[self.own]
                joint = joint * (int(by_look.max(initial=0)) + 1) + by_look[:, None]
                joint = joint * (int(by_own.max(initial=0)) + 1) + by_own[None, :]
            _, first, of_key = np.unique(joint.reshape(-1), return_index=True, return_inverse=True)
            look, own = np.divmod(first, self.shape[1])
            return Spots(
                self.look[look],
                self.own[own],
                self.of_course.reshape(-1)[first],
                of_key.reshape(looks, -1).astype(np.intp),
            )

        return self.once(("spots", *(f.name for f in features)), make)

    def once(self, name: Hashable, compute: Callable[[], T]) -> T:
        """Something derived from these keys alone, computed the first time it is wanted."""
        return self.memo.once(name, compute)


def feature(
    kind: HomeClass, name: Hashable, compute: Callable[[], tuple[Floats, Floats]]
) -> Feature:
    """A feature from its values by look and by own state, any number of columns; NaN equals NaN."""

    def make() -> Feature:
        by_look, by_own = compute()
        return Feature(name, _of_values(by_look), _of_values(by_own))

    return kind.once(("feature", name), make)


def physics(kind: HomeClass) -> Feature:
    """How heat arrives and where the temperature goes."""
    return Feature("physics", kind.pattern_of_look, kind.pattern_of_own)


def its_own(kind: HomeClass) -> Feature:
    """Whether a home has a fault of its own."""

    def make() -> Feature:
        looks, own = kind.shape
        return Feature("its own", np.zeros(looks, dtype=np.intp), np.minimum(np.arange(own), 1))

    return kind.once(("feature", "its own"), make)


def collapse(kind: HomeClass, features: Iterable[Feature]) -> Keys:
    """The coarsest keys that keep all features apart."""
    by_name = {f.name: f for f in features}

    def make() -> Keys:
        wanted = [by_name[name] for name in sorted(by_name, key=repr)]
        look, of_look = _in_order(*joined([f.of_look for f in wanted], kind.shape[0]))
        own, of_own = _in_order(*joined([f.of_own for f in wanted], kind.shape[1]))
        # Other features may keep the same apart: then their keys are the same ones.
        partition = ("partition", of_look.tobytes(), of_own.tobytes())
        return kind.once(partition, lambda: Keys(kind, tuple(wanted), of_look, of_own, look, own))

    return kind.once(("keys", frozenset(by_name)), make)


def _in_order(first: Indices, number: Indices) -> tuple[Indices, Indices]:
    """Numbers in the order of the first entry of each."""
    order = np.argsort(first)
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    return first[order], rank[number]


def _of_values(values: Floats) -> Indices:
    if values.ndim == 1:
        return np.unique(values, return_inverse=True)[1].astype(np.intp)
    # A column at a time: far quicker than sorting rows, and NaN stays equal to NaN.
    return joined([_of_values(column) for column in values.T], len(values))[1]


def joined(codes: list[Indices], count: int) -> tuple[Indices, Indices]:
    """One entry of each combination of codes, and the combination of each entry."""
    joint = np.zeros(count, dtype=np.intp)
    first = np.zeros(1, dtype=np.intp)
    for code in codes:
        first, joint = numbered(joint * (int(code.max(initial=0)) + 1) + code)
    return first, joint


def numbered(codes: Indices) -> tuple[Indices, Indices]:
    """The first of each of some codes from 0 in rising order, and the number of each entry."""
    most = int(codes.max(initial=0)) + 1
    if most > _MOST_COUNTED * len(codes):
        _, first, number = np.unique(codes, return_index=True, return_inverse=True)
        return first.astype(np.intp), number.reshape(-1).astype(np.intp)
    # Codes are mostly small: a table is quicker than sorting.
    place = np.full(most, -1, dtype=np.intp)
    place[codes[::-1]] = np.arange(len(codes))[::-1]
    there = np.flatnonzero(place >= 0)
    first = place[there]
    place[there] = np.arange(len(there))
    return first, place[codes]
