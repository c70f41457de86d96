"""The load list: what to put on the truck for a ticket.

Theory of operation
-------------------
The first part that a fault names is used in about 0.8 of its repairs, the second in 0.3, further ones
in 0.2 (common practice, no source). A part's chance of being used is that share summed over suspects.
It is loaded if the second trip that it saves, times that chance, is worth more than the room it takes
and the money it ties up.
"""

from __future__ import annotations

from dataclasses import dataclass

from rules.diagnosis import Diagnosis, Group
from rules.faults.catalogue import faults, parts
from rules.model import PartId

__all__ = ["Load", "chances_used", "load_list"]

USE_SHARE = (0.8, 0.3, 0.2)
SECOND_TRIP_MINUTES = 90.0
# Half a minute lifts a shoe box into the van and out again, and a day's money, wear and loss come to a
# minute's wage per 50 dollars of stock; only the day's list knows how full the van is. That keeps an
# unlikely boiler board at the shop and an unlikely fuse on the truck (common practice, no source).
MINUTES_PER_ROOM = 0.5
MINUTES_PER_DOLLAR = 0.02


@dataclass(frozen=True, slots=True)
class Load:
    """One part with how many and the chance that the repair uses it."""

    part: PartId
    says: str
    quantity: int
    chance_used: float


def chances_used(group: Group) -> dict[PartId, float]:
    """Chance that each part is used in the repair of this group."""
    used: dict[PartId, float] = {}
    for suspect in group.suspects:
        for place, part in enumerate(faults()[suspect.fault].parts):
            share = USE_SHARE[min(place, len(USE_SHARE) - 1)]
            used[part] = used.get(part, 0.0) + share * suspect.probability
    return used


def load_list(diagnosis: Diagnosis, group: Group) -> tuple[Load, ...]:  # noqa: ARG001 - the day's other groups will count
    """What to load for one group, likeliest first."""
    loads: list[Load] = []
    for part_id, chance in chances_used(group).items():
        part = parts()[part_id]
        worth = chance * SECOND_TRIP_MINUTES
        price = part.room * MINUTES_PER_ROOM + part.cost * MINUTES_PER_DOLLAR
        if worth > price or (part.always_on_truck and chance > 0.02):
            loads.append(Load(part_id, part.says, 1, min(chance, 1.0)))
    loads.sort(key=lambda load: (-load.chance_used, load.part))
    return tuple(loads)
