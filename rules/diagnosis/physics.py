"""Where temperatures go in a class of homes, for the distinct physical states only.

Theory of operation
-------------------
Many faults starve a home in the same way, whatever they break, and loops of the same size fare alike:
physics is computed for every pair of a distinct shared and a distinct own physical row, and states that
come out alike are put together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from rules.diagnosis.exact import Floats, Indices
from rules.heat.columns import Rows, column, merge_each
from rules.heat.company import Spell, delivered
from rules.heat.control import ChainKind, Supply
from rules.heat.rooms import FELT_OF_HEAT, Climate, RoomCourse, approached, comfort_f, settle

__all__ = ["PER_F", "Courses", "Emitting", "Physics", "alike", "physics_of"]

# Where rooms end up is told apart in steps of which so many are a degree: nobody feels less.
PER_F = 20


@dataclass(frozen=True, eq=False, slots=True)
class Courses:
    """The distinct courses of temperature of some physics: what is felt depends on nothing else.

    They stand in the order of their time constants.
    """

    gap_f: Floats  # (courses,): final temperature minus set point
    tau_hours: Floats  # (time constants,): the distinct ones
    of_each_tau: Indices  # (time constants,): how many courses have it
    mass_hours: float  # time constant of a home that leaks to outdoors alone, in all of them

    @staticmethod
    def of(several: Sequence[RoomCourse]) -> tuple[Courses, list[Indices]]:
        """Those of several, and the course of each pattern of each: (look patterns, own patterns).

        All are of one building.
        """
        shapes = [course.final_f.shape for course in several]
        parts = [
            (np.broadcast_to(c.tau_hours, s).reshape(-1), (c.final_f - c.set_f).reshape(-1))
            for c, s in zip(several, shapes, strict=True)
        ]
        tau, gap = (np.concatenate(part) for part in zip(*parts, strict=True))
        taus, of_tau = np.unique(np.round(tau, 6), return_inverse=True)
        gaps, of_gap = np.unique(np.round(gap * PER_F) / PER_F, return_inverse=True)
        code, number = np.unique(of_tau * len(gaps) + of_gap, return_inverse=True)
        ends = np.cumsum([rows * columns for rows, columns in shapes])[:-1]
        of_pattern = zip(np.split(number.astype(np.intp), ends), shapes, strict=True)
        return (
            Courses(
                gap_f=gaps[code % len(gaps)],
                tau_hours=taus,
                of_each_tau=np.bincount(code // len(gaps), minlength=len(taus)),
                mass_hours=several[0].mass_hours,
            ),
            [index.reshape(shape) for index, shape in of_pattern],
        )

    def off(self, hours: Floats, per_f: float) -> Floats:
        """How far each feels from its set point that many hours after the onset; (hours, courses).

        In steps of which so many are a degree.
        """
        shares = approached(hours[:, None], self.tau_hours, self.mass_hours, FELT_OF_HEAT)
        shares *= per_f
        off: Floats = np.repeat(shares, self.of_each_tau, axis=1)
        off *= self.gap_f
        return off


@dataclass(frozen=True, eq=False)
class Physics:
    """Where temperatures go in every pair of a shared and an own physical pattern."""

    course: RoomCourse  # arrays (look patterns, own patterns)
    of_shared: Indices  # number of a shared physical row -> look pattern
    of_own: Indices

    @cached_property
    def _courses(self) -> tuple[Courses, list[Indices]]:
        return Courses.of([self.course])

    @property
    def courses(self) -> Courses:
        """The distinct courses of temperature."""
        return self._courses[0]

    @property
    def of_pattern(self) -> Indices:
        """The course of each pair of patterns; (look patterns, own patterns)."""
        return self._courses[1][0]


@dataclass(frozen=True, slots=True)
class Emitting:
    """How heat comes to the homes of a class."""

    chain: ChainKind
    spells: tuple[Spell, ...]
    supply: Supply
    climate: Climate
    set_f: float


def physics_of(shared: Rows, own: Rows, heated: Emitting) -> Physics:
    """Every shared with every own physical row; the last column is the share of homes."""
    chains = merge_each(shared[:, :-1], own)
    heat = delivered(chains, heated.chain, heated.spells, heated.supply)
    course = settle(
        heat,
        heated.climate,
        set_f=heated.set_f,
        loss=column(chains, "loss"),
        gain_f=column(chains, "gain_f"),
        offset_f=column(chains, "offset_f"),
        neighbours_f=comfort_f(heated.climate),
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
