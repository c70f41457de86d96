"""The distinct ways in which rooms go that look and own state decide.

Most pairs of a look with an own state share one way: where the temperature drifts, and what the
thermostat makes of it, is computed once for each.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rules.diagnosis.exact import Floats, Indices
from rules.diagnosis.physics import PER_F
from rules.heat.rooms import Holding, RoomCourse, approached

__all__ = ["CALLS", "HOLDS", "IDLE", "Ways"]

# What a thermostat makes of a room; in this order stand tables by phase.
HOLDS, IDLE, CALLS = 0, 1, 2


@dataclass(frozen=True, eq=False, slots=True)
class Ways:
    """Distinct courses of temperature, and which one each pair has."""

    course: RoomCourse  # arrays (ways,)
    holding: Holding
    taus_hours: Floats  # (time constants,): the distinct ones
    tau: Indices  # (ways,): which of them each has
    of_pair: Indices  # (look keys, own keys): the way of each pair

    @staticmethod
    def of(course: RoomCourse) -> Ways:
        """From the course of every pair, arrays (look keys, own keys)."""
        code, shape = np.zeros(1, dtype=np.intp), course.final_f.shape
        steps = (np.round(f * PER_F) for f in (course.final_f, course.held_f))
        for part in (course.tau_hours, *steps):
            values, number = np.unique(np.broadcast_to(part, shape), return_inverse=True)
            code = code * len(values) + number.reshape(-1)
        _, first, of_pair = np.unique(code, return_index=True, return_inverse=True)
        distinct = course.only(np.unravel_index(first, shape))
        taus, tau = np.unique(distinct.tau_hours, return_inverse=True)
        tau, of_pair = tau.astype(np.intp), of_pair.reshape(shape).astype(np.intp)
        return Ways(distinct, distinct.holding(), taus, tau, of_pair)

    def drift_f(self, hours: Floats) -> Floats:
        """How far rooms are from the set point so many hours after the onset; (hours, ways)."""
        gone = approached(hours[:, None], self.taus_hours, self.course.mass_hours)
        drift: Floats = gone.take(self.tau, axis=1)
        drift *= self.course.final_f - self.course.set_f
        return drift

    def phase(self, hours: Floats) -> Indices:
        """Whether the thermostat holds, is idle or calls so many hours after; (hours, ways)."""
        idle, calls = self.holding.at(self.drift_f(hours))
        return (IDLE * idle.view(np.int8) + CALLS * calls.view(np.int8)).astype(np.intp)
