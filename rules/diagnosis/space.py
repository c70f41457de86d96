"""The states a building can be in: what is shared, what is each home's own, what physics says of both.

Theory of operation
-------------------
Shared faults: none, any one, or any two at once. From one home a shared state has a *look*: the one or
two of its faults that reach this home. Homes of the same kind on the same loop see the same looks and
have the same own faults, so everything is computed once per class of homes. Physics is computed for
the distinct physical rows only (many faults starve a home in the same way) and spread from there.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property, lru_cache
from typing import Any, TypeVar

import numpy as np

from rules.data import table
from rules.diagnosis.beside import cooled_f, rows_beside
from rules.diagnosis.exact import Floats, Indices
from rules.faults.candidates import Candidate, local_candidates, shared_candidates
from rules.faults.priors import beta_factor, split_by_cause
from rules.heat.columns import (
    COLUMN,
    HEALTHY,
    PHYSICAL,
    Rows,
    column,
    merge,
)
from rules.heat.control import ChainKind, delivered, others_calling
from rules.heat.rooms import ROOM_F, Climate, RoomCourse, healthy_duty, settle, supply_share
from rules.model import ApartmentId
from rules.plant import Apartment, Plant

__all__ = ["HomeClass", "Space", "make_space"]

T = TypeVar("T")

_NOISE = [COLUMN[name] for name in COLUMN if name.startswith("noise_")]
# A leak or a smell at a shared part is seldom in a home (common practice, no source).
_SHARED_LEAK_SEEN = 0.05
_SHARED_OTHER = 0.3
# Gas, fumes and smoke from the boiler room are smelt in some homes, not in all.
_SHARED_DANGER = 0.25
_DANGER = [COLUMN[n] for n in ("gas_noticed", "co_noticed", "smoke_noticed", "sparks_noticed")]


@dataclass(frozen=True, eq=False)
class HomeClass:
    """Homes that physics cannot tell apart, in all looks (first axis) and own states (second)."""

    members: Indices  # (looks, 2): candidates of each look, lower number first, -1 for none
    look_of_state: Indices  # (shared states,)
    local: tuple[Candidate, ...]  # own state 0 is "nothing", own state k is local[k - 1]
    set_f: float
    powered_thermostat: bool
    look_rows: Rows  # (looks, columns)
    own_rows: Rows  # (own states, columns)
    pattern_of_look: Indices  # look -> physical pattern, first axis of ``course``
    pattern_of_own: Indices  # own state -> physical pattern, second axis
    course: RoomCourse
    # Derived arrays that do not depend on the evidence, kept by whoever computes them.
    memo: dict[Hashable, Any] = field(default_factory=dict)

    @property
    def shape(self) -> tuple[int, int]:
        """Numbers of looks and of own states."""
        return len(self.look_rows), len(self.own_rows)

    @cached_property
    def nothing(self) -> int:
        """The look of no shared fault at all."""
        return int(np.flatnonzero(self.members[:, 0] < 0)[0])

    @cached_property
    def singles(self) -> tuple[Indices, Indices]:
        """The candidates that reach such a home, and the look of each alone."""
        first, second = self.members.T
        alone = np.flatnonzero((first >= 0) & (second < 0))
        return first[alone], alone

    def once(self, name: Hashable, compute: Callable[[], T]) -> T:
        """Something derived from this class alone, computed the first time it is wanted."""
        if name not in self.memo:
            self.memo[name] = compute()
        made: T = self.memo[name]
        return made

    @cached_property
    def look_of_onset(self) -> Callable[[int], Indices]:
        """Row of a table (onsets x looks) for every (onset, shared state), by number of onsets."""

        @lru_cache(maxsize=4)
        def flat(onsets: int) -> Indices:
            rows = [self.look_of_state + n * self.shape[0] for n in range(onsets)]
            return np.concatenate(rows)

        return flat


@dataclass(frozen=True, eq=False)
class Space:
    """All shared states of a building, their prior, and the classes of its homes."""

    plant: Plant
    on: date
    climate: Climate
    shared: tuple[Candidate, ...]
    members: Indices  # (states, 2): candidate numbers, -1 for none
    log_prior: Floats
    _classes: dict[tuple[object, ...], HomeClass] = field(default_factory=dict)
    _local: dict[ApartmentId, tuple[Candidate, ...]] = field(default_factory=dict)

    @cached_property
    def carried(self) -> Rows:
        """Each candidate's chain as a home knows it; the last row, of no candidate, is healthy."""
        return np.stack([*(_carried(c) for c in self.shared), HEALTHY])

    @cached_property
    def reach(self) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
        """Which homes each candidate reaches; the last row, of no candidate, none."""
        homes = [a.id for a in self.plant.apartments]
        return np.array(
            [*([h in c.homes for h in homes] for c in self.shared), [False] * len(homes)]
        )

    @cached_property
    def cooled_f(self) -> Floats:
        """How far below room temperature each candidate lets its homes fall."""
        homes = self.plant.apartments
        company = {a.id: _company(self, a) for a in homes}
        supply = {a.id: _supply_to(self.plant, a, self.climate) for a in homes}
        return cooled_f(self.plant, self.climate, self.shared, company, supply)

    def home_class(
        self, apartment: ApartmentId, set_f: float | None, *, beside: bool = False
    ) -> HomeClass:
        """The class of one home at its set point (rounded to 2 F; 70 F when not known).

        ``beside``: faults that starve its neighbours count as well.
        """
        home = self.plant.apartment(apartment)
        at = ROOM_F if set_f is None else 2.0 * round(min(max(set_f, 50.0), 90.0) / 2)
        near: dict[int, Rows] = {}
        if beside:
            near = rows_beside(self.plant, self.shared, self.cooled_f, apartment)
        key = (*_kind(self.plant, home), at, frozenset(near))
        if key not in self._classes:
            self._classes[key] = _make_class(self, home, at, near)
        return self._classes[key]

    def local(self, apartment: ApartmentId) -> tuple[Candidate, ...]:
        """This home's own faults, in the order of its own states from 1."""
        if apartment not in self._local:
            home = self.plant.apartment(apartment)
            self._local[apartment] = local_candidates(self.plant, home, self.on)
        return self._local[apartment]

    def local_log_prior(self, apartment: ApartmentId) -> Floats:
        """Log P(own state) of one home; its parts' ages count. Own state 0 is "nothing"."""
        chances = np.array([c.prior for c in self.local(apartment)])
        log_prior: Floats = np.log(np.concatenate([[max(1 - chances.sum(), 0.05)], chances]))
        return log_prior


# A space with its classes is some tens of megabytes: few are kept.
@lru_cache(maxsize=6)
def make_space(plant: Plant, on: date, outdoor_f: float) -> Space:
    """The states of a plant on a day at an outdoor temperature."""
    climate = Climate(outdoor_f, plant.design_outdoor_f, plant.time_constant_hours)
    shared = shared_candidates(plant, on)
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
    return Space(plant, on, climate, shared, members, log_prior)


def _common_cause(
    shared: Sequence[Candidate], first: Indices, second: Indices
) -> tuple[Floats, Floats]:
    """Chance of each candidate of its own, and of each pair of like ones from what they share.

    No more than two faults are there at once, so what one shares with several is spread over pairs
    with each: its own chance of being there stays what it was.
    """
    rows: dict[object, int] = {}
    row = np.array([rows.setdefault(c.fault if c.row else n, n) for n, c in enumerate(shared)])
    like = np.bincount(row, minlength=len(shared))[row] - 1
    beta = np.array([0.0 if c.row is None else beta_factor(c.row.at) for c in shared])
    chances = np.array([c.prior for c in shared])
    own, common = split_by_cause(chances, np.where(like > 0, beta, 0.0))
    pairs = np.where(row[first] == row[second], np.sqrt(common[first] * common[second]), 0.0)
    return own, pairs / np.maximum(like[first], 1)


def _kind(plant: Plant, home: Apartment) -> tuple[object, ...]:
    """What makes two homes the same to physics and to the catalogue."""
    return (
        home.loop,
        home.zoning,
        home.emitter,
        None if home.valve is None else (home.valve.kind, home.valve.transformer),
        None if home.thermostat is None else home.thermostat.kind,
        plant.loop(home.loop).source,
    )


def _make_class(space: Space, home: Apartment, set_f: float, near: Mapping[int, Rows]) -> HomeClass:
    local = space.local(home.id)
    reaching = [n for n, c in enumerate(space.shared) if home.id in c.homes or n in near]
    looks, look_of_state = _looks(space.members, reaching, len(space.shared))
    carried = space.carried.copy()
    for n, row in near.items():
        carried[n] = row
    look_rows = merge(carried[looks[:, 0]], carried[looks[:, 1]])
    own_rows = np.stack([HEALTHY, *(c.chain for c in local)])
    first, pattern_of_look = _distinct(look_rows, _reach_share(space, home, looks, near))
    second, pattern_of_own = _distinct(own_rows, np.zeros(len(own_rows)))
    chains = merge(first[:, None, :-1], second[None, :, :-1])
    kind = ChainKind(home.zoning, home.valve.kind if home.valve else None)
    supply = _supply_to(space.plant, home, space.climate)
    heat = delivered(chains, kind, *_company(space, home)).scaled(supply)
    course, of_first, of_second = _told_apart(
        settle(
            heat,
            space.climate,
            set_f=set_f,
            loss=column(chains, "loss"),
            gain_f=column(chains, "gain_f"),
            offset_f=column(chains, "offset_f"),
            neighbours_f=ROOM_F,
            neighbour_share=1 - first[:, None, -1],
        )
    )
    return HomeClass(
        members=looks,
        look_of_state=look_of_state,
        local=local,
        set_f=set_f,
        powered_thermostat=home.thermostat is not None and home.thermostat.kind == "powered",
        look_rows=look_rows,
        own_rows=own_rows,
        pattern_of_look=of_first[pattern_of_look],
        pattern_of_own=of_second[pattern_of_own],
        course=course,
    )


def _supply_to(plant: Plant, home: Apartment, climate: Climate) -> float:
    """Share of full heat that comes from the home's source at this weather."""
    source = plant.source(plant.loop(home.loop).source)
    return supply_share(
        climate,
        follows_weather=source.control == "outdoor_reset" or source.kind == "steam_boiler",
        rooms_controlled=home.zoning != "none",
    )


def _company(space: Space, home: Apartment) -> tuple[float, float]:
    """Chances that another home runs this loop's pump, and that another loop runs the boiler."""
    plant = space.plant
    duty = healthy_duty(space.climate)
    source = plant.loop(home.loop).source
    same_loop = sum(1 for a in plant.apartments if a.loop == home.loop) - 1
    same_source = sum(
        1 for a in plant.apartments if plant.loop(a.loop).source == source and a.loop != home.loop
    )
    return others_calling(duty, same_loop), others_calling(duty, same_source)


def _looks(members: Indices, reaching: Sequence[int], count: int) -> tuple[Indices, Indices]:
    """The distinct looks from a home, (looks, 2), and which one each shared state has."""
    reached = np.zeros(count + 1, dtype=bool)
    reached[list(reaching)] = True  # the last entry serves member -1
    seen = np.where(reached[members], members, -1)
    first, second = seen.min(axis=1), seen.max(axis=1)
    low, high = np.where(first < 0, second, first), np.where(first < 0, first, second)
    codes, look_of_state = np.unique((low + 1) * (count + 1) + high + 1, return_inverse=True)
    return np.stack(np.divmod(codes, count + 1), axis=1) - 1, look_of_state.astype(np.intp)


def _carried(candidate: Candidate) -> Rows:
    """A shared fault's chain as one home knows it: its noise and water are farther away."""
    row = candidate.chain.copy()
    carries = table("reporting")["noise_carries"]
    heard = "loop" if candidate.row is None else candidate.row.reports.heard_by
    row[_NOISE] *= carries["loop" if heard == "apartment" else heard]
    row[COLUMN["leak_seen"]] *= _SHARED_LEAK_SEEN
    row[COLUMN["other_noticed"]] *= _SHARED_OTHER
    row[_DANGER] *= _SHARED_DANGER
    return row


def _reach_share(space: Space, home: Apartment, looks: Indices, near: Iterable[int]) -> Floats:
    """Share of the homes on this one's heat source that go along with it, per look."""
    source = space.plant.loop(home.loop).source
    fed = [space.plant.loop(a.loop).source == source for a in space.plant.apartments]
    reach = space.reach[:, fed]
    reach[list(near)] = False  # how they pull on this home stands in its row
    both = (reach[looks[:, 0]] | reach[looks[:, 1]]).sum(axis=1)
    share: Floats = both / reach.shape[1]
    return share


def _distinct(rows: Rows, share: Floats) -> tuple[Rows, Indices]:
    """Physically distinct rows with the share of homes as a last column, and the row of each."""
    physical = np.tile(HEALTHY, (len(rows), 1))
    physical[:, PHYSICAL] = rows[:, PHYSICAL]
    full = np.concatenate([physical, np.round(share, 3)[:, None]], axis=1)
    first, index = _alike(full)
    return full[first], index


def _told_apart(course: RoomCourse) -> tuple[RoomCourse, Indices, Indices]:
    """The course without rows and columns that fare alike, and where each of them went.

    Many faults starve a home in the same way whatever they break.
    """
    shape = course.final_f.shape
    every = np.stack([np.broadcast_to(part, shape) for part in course.parts()])
    every = every.astype(np.float64).round(9)
    rows, of_row = _alike(every.transpose(1, 0, 2))
    columns, of_column = _alike(every.transpose(2, 0, 1))
    return course.only(np.ix_(rows, columns)), of_row, of_column


def _alike(values: Floats) -> tuple[Indices, Indices]:
    """The first of each kind of entry along the first axis, and the kind of each."""
    kinds: dict[bytes, int] = {}
    first: list[int] = []
    index = np.empty(len(values), dtype=np.intp)
    for at, entry in enumerate(np.ascontiguousarray(values) + 0.0):  # no negative zero
        index[at] = kinds.setdefault(entry.tobytes(), len(kinds))
        if index[at] == len(first):
            first.append(at)
    return np.array(first, dtype=np.intp), index
