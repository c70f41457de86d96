"""Where temperatures go in a class of homes, for the distinct physical states only.

Theory of operation
-------------------
Many faults starve a home in the same way, whatever they break, and loops of the same size fare alike:
physics is computed for every pair of a distinct shared and a distinct own physical row, and states that
come out alike are put together.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from rules.diagnosis.exact import Floats, Indices
from rules.diagnosis.memo import Memo
from rules.heat.columns import Rows, column, merge
from rules.heat.control import ChainKind, Supply, delivered
from rules.heat.rooms import ROOM_F, Climate, RoomCourse, approached, settle

__all__ = ["Courses", "Emitting", "Physics", "alike", "physics_of"]

_MOST_RATES_KEPT = 12


@dataclass(frozen=True, eq=False, slots=True)
class Courses:
    """The distinct courses of temperature of a physics: what is felt depends on nothing else.

    They stand in the order of their time constants.
    """

    gap_f: Floats  # (courses,): final temperature minus set point
    tau_hours: Floats  # (time constants,): the distinct ones
    of_each_tau: Indices  # (time constants,): how many courses have it
    of_pattern: Indices  # (look patterns, own patterns): the course of each

    def off(self, hours: Floats, per_f: float) -> Floats:
        """How far each is from its set point that many hours after the onset; (hours, courses).

        In steps of which so many are a degree.
        """
        shares = per_f * approached(hours[:, None], self.tau_hours)
        off: Floats = np.repeat(shares, self.of_each_tau, axis=1)
        off *= self.gap_f
        return off


@dataclass(frozen=True, eq=False)
class Physics:
    """Where temperatures go in every pair of a shared and an own physical pattern."""

    course: RoomCourse  # arrays (look patterns, own patterns)
    of_shared: Indices  # number of a shared physical row -> look pattern
    of_own: Indices
    memo: Memo = field(default_factory=lambda: Memo(_MOST_RATES_KEPT))

    @cached_property
    def courses(self) -> Courses:
        """The distinct courses of temperature."""
        course = self.course
        tau_hours, of_tau = np.unique(np.round(course.tau_hours, 6), return_inverse=True)
        gap = np.round(course.final_f - course.set_f, 6)
        by_cell = np.broadcast_to(of_tau.reshape(course.tau_hours.shape), gap.shape)
        gaps, of_gap = np.unique(gap, return_inverse=True)
        joint = by_cell.reshape(-1) * len(gaps) + of_gap.reshape(-1)
        code, of_pattern = np.unique(joint, return_inverse=True)
        return Courses(
            gap_f=gaps[code % len(gaps)],
            tau_hours=tau_hours,
            of_each_tau=np.bincount(code // len(gaps), minlength=len(tau_hours)),
            of_pattern=of_pattern.reshape(gap.shape),
        )


@dataclass(frozen=True, slots=True)
class Emitting:
    """How heat comes to the homes of a class."""

    chain: ChainKind
    others_run: float
    others_fire: float
    supply: Supply
    climate: Climate
    set_f: float


def physics_of(shared: Rows, own: Rows, heated: Emitting) -> Physics:
    """Every shared with every own physical row; the last column is the share of homes."""
    chains = merge(shared[:, None, :-1], own[None])
    heat = delivered(
        chains, heated.chain, heated.others_run, heated.others_fire, supply=heated.supply
    )
    course = settle(
        heat,
        heated.climate,
        set_f=heated.set_f,
        loss=column(chains, "loss"),
        gain_f=column(chains, "gain_f"),
        offset_f=column(chains, "offset_f"),
        neighbours_f=ROOM_F,
        neighbour_share=1 - shared[:, None, -1],
    )
    # Many faults starve a home in the same way whatever they break.
    shape = course.final_f.shape
    every = np.stack([np.broadcast_to(part, shape) for part in course.parts()])
    every = every.astype(np.float64).round(9)
    rows, of_shared = alike(every.transpose(1, 0, 2))
    columns, of_own = alike(every.transpose(2, 0, 1))
    return Physics(course.only(np.ix_(rows, columns)), of_shared, of_own)


def alike(values: Floats) -> tuple[Indices, Indices]:
    """The first of each kind of entry along the first axis, and the kind of each."""
    kinds: dict[bytes, int] = {}
    first: list[int] = []
    index = np.empty(len(values), dtype=np.intp)
    for at, entry in enumerate(np.ascontiguousarray(values) + 0.0):  # no negative zero
        index[at] = kinds.setdefault(entry.tobytes(), len(kinds))
        if index[at] == len(first):
            first.append(at)
    return np.array(first, dtype=np.intp), index
