"""What a saved second trip is worth: the drive, and the homes that would wait for it.

Theory of operation
-------------------
A part that is missing costs the way there and back, and another half day or day for everybody whom the
fault leaves without: a boiler that is out for thirty homes in a frost is worth more stock than one
lukewarm radiator. Whoever complained waits for what was complained of. Who has said nothing waits as
far as the fault takes the heat away at this weather, or the hot water: by how far rooms fall in the end.
"""

from __future__ import annotations

from typing import NamedTuple

from rules.diagnosis import Diagnosis
from rules.faults.candidates import Candidate
from rules.heat.columns import COLUMN
from rules.model import FaultId

__all__ = ["Cause", "homes_left_without", "second_trip_minutes"]

# There, back and the counter of the supply house (common practice, no source).
SECOND_TRIP_MINUTES = 90.0
# What half a day to a day more comes to for one household: a quarter of a day's rent of 60 dollars, as
# is taken off for want of heat, is ten minutes of a technician at a dollar and a half; five more are the
# desk's, to say that it takes longer (common practice, no source).
MINUTES_A_HOME = 15.0
# Nobody lets a house wait for a part that a second person fetches: more than their half day it never
# costs (common practice, no source).
MOST_MINUTES_OF_WAITING = 240.0
# Rooms on their way to so far below what people set, near 50 F, are without heat (England's HHSRS, as
# quoted in PMC7166076 table 1b, calls under 50 F a great risk to anybody); less far is a part of it.
_WITHOUT_HEAT_F = 20.0
_TAP_COLD = COLUMN["tap_cold"]


class Cause(NamedTuple):
    """A fault that may be behind a ticket: its chance, and the homes that wait if it is."""

    fault: FaultId
    chance: float
    homes: float = 1.0

    @property
    def second_trip_minutes(self) -> float:
        """What a second trip for it costs."""
        return second_trip_minutes(self.homes)


def second_trip_minutes(homes: float) -> float:
    """What a second trip costs, in a technician's minutes, while so many homes wait."""
    return SECOND_TRIP_MINUTES + min(homes * MINUTES_A_HOME, MOST_MINUTES_OF_WAITING)


def homes_left_without(diagnosis: Diagnosis, shared: int, candidate: Candidate) -> float:
    """How many homes a shared fault, by its number, leaves without heat or hot water at this weather."""
    below_f = float(diagnosis.belief.space.cooled_f[shared])
    taps = min(float(candidate.chain[_TAP_COLD]), 1.0)
    return len(candidate.homes) * max(min(below_f / _WITHOUT_HEAT_F, 1.0), taps)
