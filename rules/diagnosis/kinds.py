"""Homes that physics and the catalogue cannot tell apart, and what becomes of them in every state.

Theory of operation
-------------------
From one home a shared state has a *look*: the one or two of its faults that reach this home. Homes of
the same kind on the same loop see the same looks and have the same own faults, so everything is computed
once per class of homes. Most looks differ in name only: many faults have the same chain, and many chains
starve a home in the same way. So chains are merged once per pair of distinct chains, physics is computed
for the distinct physical rows only, and classes with the same rows (loops of the same size) share it.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from hashlib import blake2b
from typing import TypeVar

import numpy as np

from rules.diagnosis.exact import Floats, Indices
from rules.diagnosis.memo import Memo
from rules.diagnosis.physics import Emitting, Physics, alike, physics_of
from rules.faults.candidates import Candidate
from rules.heat.columns import HEALTHY, PHYSICAL, Rows, merge
from rules.heat.rooms import RoomCourse

__all__ = ["HomeClass", "Sight", "home_class"]

T = TypeVar("T")

# Derived arrays kept per class of homes; the largest are some hundred kilobytes.
_MOST_KEPT = 160
_MOST_REPORTS = 12


@dataclass(frozen=True, eq=False)
class HomeClass:
    """Homes that physics cannot tell apart, in all looks (first axis) and own states (second)."""

    members: Indices  # (looks, 2): candidates of each look, lower number first, -1 for none
    look_of_state: Indices  # (shared states,)
    local: tuple[Candidate, ...]  # own state 0 is "nothing", own state k is local[k - 1]
    set_f: float
    powered_thermostat: bool
    look_rows: Rows  # (distinct chains of looks, columns)
    row_of_look: Indices  # (looks,)
    own_rows: Rows  # (own states, columns)
    physics: Physics
    pattern_of_look: Indices  # look -> physical pattern, first axis of ``course``
    pattern_of_own: Indices  # own state -> physical pattern, second axis
    memo: Memo = field(default_factory=lambda: Memo(_MOST_KEPT))
    reports: Memo = field(default_factory=lambda: Memo(_MOST_REPORTS))  # what its homes reported

    @property
    def shape(self) -> tuple[int, int]:
        """Numbers of looks and of own states."""
        return len(self.members), len(self.own_rows)

    @property
    def course(self) -> RoomCourse:
        """Where temperatures go; arrays (look patterns, own patterns)."""
        return self.physics.course

    @cached_property
    def nothing(self) -> int:
        """The look of no shared fault at all."""
        return int(np.flatnonzero(self.members[:, 0] < 0)[0])

    @cached_property
    def pair(self) -> Indices:
        """First and second candidate of each look, -1 for none; (2, looks)."""
        return np.ascontiguousarray(self.members.T)

    @cached_property
    def silence(self) -> bytes:
        """A digest, equal for classes of one physics to which silence means the same, look by look."""
        made = (self.row_of_look, self.look_rows, self.own_rows, self.pattern_of_look)
        together = b"".join(part.tobytes() for part in (*made, self.pattern_of_own))
        together += bytes([self.powered_thermostat])  # of a dark screen people speak
        return blake2b(together, digest_size=16).digest()

    @cached_property
    def a_state(self) -> Indices:
        """One shared state of each look, (looks,); of a look of two faults there is no other."""
        state = np.zeros(len(self.members), dtype=np.intp)
        state[self.look_of_state] = np.arange(len(self.look_of_state))
        return state

    @cached_property
    def singles(self) -> tuple[Indices, Indices]:
        """The candidates that reach such a home, and the look of each alone."""
        first, second = self.members.T
        alone = np.flatnonzero((first >= 0) & (second < 0))
        return first[alone], alone

    def only(self, looks: Indices, own: Sequence[int]) -> HomeClass:
        """The same homes in few looks, which no state has any more, and few own states, 0 first."""
        return replace(
            self,
            members=self.members[looks],
            look_of_state=np.zeros(0, dtype=np.intp),
            local=tuple(self.local[n - 1] for n in own[1:]),
            look_rows=self.look_rows[self.row_of_look[looks]],
            row_of_look=np.arange(len(looks)),
            own_rows=self.own_rows[list(own)],
            pattern_of_look=self.pattern_of_look[looks],
            pattern_of_own=self.pattern_of_own[list(own)],
            memo=Memo(_MOST_KEPT),
            reports=Memo(_MOST_REPORTS),
        )

    def let_go(self) -> None:
        """Forget what was derived: it holds on to this class, which would wait for the collector."""
        self.memo.clear()
        self.reports.clear()

    def once(self, name: Hashable, compute: Callable[[], T]) -> T:
        """Something derived from this class alone, computed the first time it is wanted."""
        return self.memo.once(name, compute)

    def of_rows(self, name: Hashable, compute: Callable[[Rows], Floats]) -> tuple[Floats, Floats]:
        """Something that a chain's row decides: by look, by own state."""

        def make() -> tuple[Floats, Floats]:
            return compute(self.look_rows)[self.row_of_look], compute(self.own_rows)

        return self.once(("of rows", name), make)


@dataclass(frozen=True, eq=False, slots=True)
class Sight:
    """What a home of a class sees of the candidates."""

    members: Indices  # (shared states, 2), -1 for none
    carried: Rows  # (candidates + 1, columns): the chain of each as such a home knows it
    reaching: Sequence[int]  # candidates that it feels
    homes_of: Indices  # (candidates + 1,): number of the set of homes that go along with each
    share_of: Floats  # (sets, sets): share of the homes on its source that go along with either


@dataclass(frozen=True, eq=False, slots=True)
class _Chains:
    """Some distinct chains, each two of them at once; healthy is one of them."""

    rows: Rows  # (pairs, columns)
    of_pair: Indices  # (chains, chains): row of each two
    physical: Rows  # (physical rows, columns): HEALTHY but for what decides how much heat arrives
    physical_of: Indices  # (pairs,): physical row of each


# Neither weather nor the numbers of candidates matter to it: loops and buildings share it.
_CHAINS = Memo(24)
# Loops of a plant, plants that are alike, and one plant day after day, share it.
_PHYSICS = Memo(48, 48 * 2**20)


def home_class(
    sight: Sight,
    heated: Emitting,
    local: tuple[Candidate, ...],
    *,
    powered_thermostat: bool,
) -> HomeClass:
    """The class of homes with this sight, heating and own faults."""
    looks, look_of_state = _looks(sight)
    chains, row_of_look = _chains_of(sight, looks)
    own_rows = np.stack([HEALTHY, *(c.chain for c in local)])
    share = sight.share_of[sight.homes_of[looks[:, 0]], sight.homes_of[looks[:, 1]]]
    shared, of_look = _with_share(chains, row_of_look, share)
    own, of_own = _physical(own_rows)
    name = (heated, shared.tobytes(), own.tobytes())
    physics = _PHYSICS.once(name, lambda: physics_of(shared, own, heated))
    return HomeClass(
        members=looks,
        look_of_state=look_of_state,
        local=local,
        set_f=heated.set_f,
        powered_thermostat=powered_thermostat,
        look_rows=chains.rows,
        row_of_look=row_of_look,
        own_rows=own_rows,
        physics=physics,
        pattern_of_look=physics.of_shared[of_look],
        pattern_of_own=physics.of_own[of_own],
    )


def _looks(sight: Sight) -> tuple[Indices, Indices]:
    """The distinct looks from a home, (looks, 2), and which one each shared state has."""
    count = len(sight.carried) - 1
    reached = np.zeros(count + 1, dtype=bool)
    reached[list(sight.reaching)] = True  # the last entry serves member -1
    seen = np.where(reached[sight.members], sight.members, -1)
    low, high = seen.min(axis=1), seen.max(axis=1)
    low, high = np.where(low < 0, high, low), np.where(low < 0, low, high)
    code = (low + 1) * (count + 1) + high + 1
    # Codes are small: a table is quicker than sorting thousands of states.
    there = np.zeros((count + 1) ** 2, dtype=bool)
    there[code] = True
    codes = np.flatnonzero(there)
    number = np.cumsum(there) - 1
    return np.stack(np.divmod(codes, count + 1), axis=1) - 1, number[code]


def _chains_of(sight: Sight, looks: Indices) -> tuple[_Chains, Indices]:
    """The chains that a home can see, and which one each look has."""
    felt = np.array([*sight.reaching, len(sight.carried) - 1])
    first, kind = alike(sight.carried[felt])
    kind_of = np.zeros(len(sight.carried), dtype=np.intp)
    kind_of[felt] = kind
    distinct = sight.carried[felt[first]]
    chains = _CHAINS.once(distinct.tobytes(), lambda: _merged(distinct))
    return chains, chains.of_pair[kind_of[looks[:, 0]], kind_of[looks[:, 1]]]


def _merged(distinct: Rows) -> _Chains:
    """Each two of some chains at once."""
    count = len(distinct)
    one, other = np.triu_indices(count)
    rows = merge(distinct[one], distinct[other])
    of_pair = np.empty((count, count), dtype=np.intp)
    of_pair[one, other] = of_pair[other, one] = np.arange(len(rows))
    return _Chains(rows, of_pair, *_physical(rows))


def _physical(rows: Rows) -> tuple[Rows, Indices]:
    """Physically distinct rows, and the row of each."""
    physical = np.tile(HEALTHY, (len(rows), 1))
    physical[:, PHYSICAL] = rows[:, PHYSICAL]
    first, kind = alike(physical)
    return physical[first], kind


def _with_share(chains: _Chains, row_of: Indices, share: Floats) -> tuple[Rows, Indices]:
    """Physical rows with the share of homes as a last column, and the row of each look."""
    shares, of_share = np.unique(np.round(share, 3), return_inverse=True)
    codes, index = np.unique(
        chains.physical_of[row_of] * len(shares) + of_share, return_inverse=True
    )
    row, at_share = np.divmod(codes, len(shares))
    full = np.concatenate([chains.physical[row], shares[at_share][:, None]], axis=1)
    return full, index.astype(np.intp)
