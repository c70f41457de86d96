"""The load list: what to put on the truck for a ticket.

Theory of operation
-------------------
The first part that a fault names is used in about 0.8 of its repairs, the second in 0.3, further ones
in 0.2 (common practice, no source). A part's chance of being used is that share summed over all causes
of the ticket's complaints, also those too unlikely one by one to be named as suspects: ten rare faults
that all end in one part are one good reason to carry it. Of several complaints, whatever is behind any
of them is to be mended: a cause counts with the complaint that speaks for it most.

A part is loaded if the second trip that it saves, times that chance, is worth more than the room it
takes and the money it ties up. What is always on the truck costs nothing, and is listed to be looked
for.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from rules.diagnosis import Diagnosis, Group
from rules.diagnosis.exact import Floats
from rules.faults.candidates import Candidate
from rules.faults.catalogue import faults, parts
from rules.faults.rows import Part
from rules.model import FaultId, PartId

__all__ = ["Load", "causes_behind", "chances_used", "is_worth_carrying", "load_list"]

USE_SHARE = (0.8, 0.3, 0.2)
SECOND_TRIP_MINUTES = 90.0
# Half a minute lifts a shoe box into the van and out again, and a day's money, wear and loss come to a
# minute's wage per 33 dollars of stock; only the day's list knows how full the van is. That keeps an
# unlikely boiler board at the shop and an unlikely fuse on the truck (common practice, no source).
MINUTES_PER_ROOM = 0.5
MINUTES_PER_DOLLAR = 0.03
# Less likely than this nobody need look whether it is on the truck (common practice, no source).
WORTH_LOOKING = 0.005
_NEGLIGIBLE = 1e-5


@dataclass(frozen=True, slots=True)
class Load:
    """One part with how many and the chance that the repair uses it."""

    part: PartId
    says: str
    quantity: int
    chance_used: float


def chances_used(diagnosis: Diagnosis, group: Group) -> dict[PartId, float]:
    """Chance that each part is used in the repair of this group."""
    used: dict[PartId, float] = {}
    for fault, chance in causes_behind(diagnosis, group).items():
        for place, part in enumerate(faults()[fault].parts):
            share = USE_SHARE[min(place, len(USE_SHARE) - 1)]
            used[part] = used.get(part, 0.0) + share * chance
    return used


def load_list(diagnosis: Diagnosis, group: Group) -> tuple[Load, ...]:
    """What to load for one group, likeliest first."""
    loads: list[Load] = []
    for part_id, chance in chances_used(diagnosis, group).items():
        part = parts()[part_id]
        if (chance > WORTH_LOOKING) if part.always_on_truck else is_worth_carrying(part, chance):
            loads.append(Load(part_id, part.says, 1, min(chance, 1.0)))
    loads.sort(key=lambda load: (-load.chance_used, load.part))
    return tuple(loads)


def is_worth_carrying(part: Part, chance: float) -> bool:
    """Whether the second trip that it saves with this chance is worth its room and its money."""
    price = part.room * MINUTES_PER_ROOM + part.cost * MINUTES_PER_DOLLAR
    return chance * SECOND_TRIP_MINUTES > price


def causes_behind(diagnosis: Diagnosis, group: Group) -> dict[FaultId, float]:
    """Every fault that may be behind a complaint of a group, wherever it is, with its chance."""
    causes = [diagnosis.causes[home] for home in group.apartments]
    space = diagnosis.belief.space
    every = [*_likely(space.shared, np.max([c.shared for c in causes], axis=0))]
    for cause in causes:
        every += _likely(space.local(cause.apartment), cause.own[1:])
    found: dict[FaultId, float] = {}
    for fault, chance in every:
        found[fault] = found.get(fault, 0.0) + chance
    return found


def _likely(candidates: Iterable[Candidate], chances: Floats) -> Iterator[tuple[FaultId, float]]:
    for candidate, chance in zip(candidates, chances, strict=True):
        if candidate.row is not None and chance > _NEGLIGIBLE:
            yield candidate.fault, float(chance)
