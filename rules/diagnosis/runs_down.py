"""Water that is seen below is mostly that of the home above.

Theory of operation
-------------------
Water runs down. Where homes of one line that lie over each other tell of water within a day, it is one
leak, in the topmost of them or just above it. That the others see it too is then as likely whatever
leaks there, so what they tell of water says where the leak is, but not what leaks: only the topmost
home's word is weighed, and theirs goes with it. A home that has told of more than water tells of
something of its own, and is weighed itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta

from rules.model import Answered, ApartmentId, Evidence, Kind, Reported
from rules.plant import Plant

__all__ = ["dry", "runs_down"]

# Ceilings hold water back for hours, and some see it when they come home (common practice, no source).
_WITHIN = timedelta(hours=24)
# Floors that water passes unseen, in a wall or where nobody is at home (common practice, no source).
_FLOORS = 2
_WATER = frozenset({Kind.LEAK, Kind.OTHER})
_OF_WATER = frozenset({"q_leak", "q_leak_at"})


def runs_down(
    plant: Plant, by_home: Mapping[ApartmentId, Sequence[Evidence]]
) -> dict[ApartmentId, ApartmentId]:
    """The topmost home whose water it probably is, of each home below that tells of water only."""
    wet = [
        (plant.apartment(home), at)
        for home, said in by_home.items()
        if (at := _told_of_water(said)) is not None
    ]
    found: dict[ApartmentId, ApartmentId] = {}
    if len(wet) < 2:
        return found
    for home, at in sorted(wet, key=lambda told: -told[0].floor):
        above = [
            other
            for other, then in wet
            if other.line == home.line
            and 0 < other.floor - home.floor <= _FLOORS
            and abs(then - at) <= _WITHIN
        ]
        if above and _of_water_only(by_home[home.id]):
            nearest = min(above, key=lambda other: (other.floor, other.id))
            found[home.id] = found.get(nearest.id, nearest.id)
    return found


def dry(said: Iterable[Evidence]) -> list[Evidence]:
    """What a home told beside the water that came from above."""
    return [
        e
        for e in said
        if not isinstance(e.fact, Reported)
        and not (isinstance(e.fact, Answered) and e.fact.topic in _OF_WATER)
    ]


def _told_of_water(said: Iterable[Evidence]) -> datetime | None:
    """When a home first did."""
    told = (e.at for e in said if isinstance(e.fact, Reported) and Kind.LEAK in e.fact.kinds)
    return min(told, default=None)


def _of_water_only(said: Iterable[Evidence]) -> bool:
    return all(e.fact.kinds <= _WATER for e in said if isinstance(e.fact, Reported))
