"""Which looks and own states one home's evidence cannot tell apart.

Theory of operation
-------------------
From one home a pair of shared faults is one of thousands of looks, but what its people said depends on
few features of them: where the temperature goes, a noise, an answer that a fault's row gives. Looks
with equal features form one key, own states likewise, and likelihoods are computed once per pair of
keys. Nothing is approximated: the keys are exactly as fine as the evidence needs.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass

import numpy as np

from rules.diagnosis.exact import Floats, Indices
from rules.diagnosis.space import HomeClass

__all__ = ["Feature", "Keys", "collapse", "feature", "physics"]


@dataclass(frozen=True, eq=False, slots=True)
class Feature:
    """Something a likelihood depends on: which looks, and which own states, have it alike."""

    name: Hashable
    of_look: Indices  # (looks,): equal numbers have it alike
    of_own: Indices  # (own states,)


@dataclass(frozen=True, eq=False, slots=True)
class Keys:
    """Looks and own states put together by features."""

    of_look: Indices  # (looks,): the key of each
    of_own: Indices  # (own states,)
    look: Indices  # (look keys,): one look of each key
    own: Indices  # (own keys,)
    cells: tuple[Indices, Indices]  # index of the keys' physical patterns in a class's course

    @property
    def shape(self) -> tuple[int, int]:
        """Numbers of look keys and of own keys."""
        return len(self.look), len(self.own)


def feature(
    kind: HomeClass, name: Hashable, compute: Callable[[], tuple[Floats, Floats]]
) -> Feature:
    """A feature from its values by look and by own state, any number of columns; NaN equals NaN."""

    def make() -> Feature:
        by_look, by_own = compute()
        return Feature(name, _numbered(by_look), _numbered(by_own))

    return kind.once(("feature", name), make)


def physics(kind: HomeClass) -> Feature:
    """How heat arrives and where the temperature goes."""
    return Feature("physics", kind.pattern_of_look, kind.pattern_of_own)


def collapse(kind: HomeClass, features: Iterable[Feature]) -> Keys:
    """The coarsest keys that keep all features apart."""
    by_name = {repr(f.name): f for f in features}
    names = tuple(sorted(by_name))

    def make() -> Keys:
        chosen = [by_name[name] for name in names]
        look, of_look = _joined([f.of_look for f in chosen], kind.shape[0])
        own, of_own = _joined([f.of_own for f in chosen], len(kind.local) + 1)
        cells = np.ix_(kind.pattern_of_look[look], kind.pattern_of_own[own])
        return Keys(of_look, of_own, look, own, (cells[0], cells[1]))

    return kind.once(("keys", names), make)


def _numbered(values: Floats) -> Indices:
    if values.ndim == 1:
        return np.unique(values, return_inverse=True)[1].astype(np.intp)
    # A column at a time: far quicker than sorting rows, and NaN stays equal to NaN.
    return _joined([_numbered(column) for column in values.T], len(values))[1]


def _joined(codes: list[Indices], count: int) -> tuple[Indices, Indices]:
    """One entry of each combination of codes, and the combination of each entry."""
    joint = np.zeros(count, dtype=np.intp)
    first = np.zeros(1, dtype=np.intp)
    for code in codes:
        mixed = joint * (int(code.max(initial=0)) + 1) + code
        _, first, joint = np.unique(mixed, return_index=True, return_inverse=True)
        joint = joint.reshape(-1).astype(np.intp)
    return first.astype(np.intp), joint
