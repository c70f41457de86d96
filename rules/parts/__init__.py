"""The load list: what to put on the truck for a ticket.

Theory of operation
-------------------
The first part that a fault names is used in about 0.8 of its repairs, the second in 0.3, further ones
in 0.2 (common practice, no source). A part's chance of being used is that share summed over all causes
of the ticket's complaints, also those too unlikely one by one to be named as suspects: ten rare faults
that all end in one part are one good reason to carry it. Of several complaints, whatever is behind any
of them is to be mended: a cause counts with the complaint that speaks for it most.

A part is loaded if the second trip that it saves (``rules.parts.waiting``: the drive, and the homes
that would wait for it), times that chance, is worth more than the room it takes and the money it ties
up. What is always on the truck costs nothing, and is listed to be looked for.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from rules.diagnosis import Diagnosis, Group
from rules.faults.catalogue import faults, parts
from rules.faults.rows import Part
from rules.model import FaultId, PartId
from rules.parts.waiting import Cause, homes_left_without, second_trip_minutes

__all__ = [
    "MOST_ROOM",
    "Cause",
    "Load",
    "causes_behind",
    "is_needed",
    "is_worth_carrying",
    "load_list",
    "loads",
]

USE_SHARE = (0.8, 0.3, 0.2)
# Shoe boxes of shelf (common practice, no source); what is larger is not stock, it is ordered.
MOST_ROOM = 30.0
# Half a minute lifts a shoe box into the van and out again, and a day's money, wear and loss come to a
# minute's wage per 33 dollars of stock; only the day's list knows how full the van is. That keeps an
# unlikely boiler board at the shop and an unlikely fuse on the truck (common practice, no source).
MINUTES_PER_ROOM = 0.5
MINUTES_PER_DOLLAR = 0.03
# What is expected to save that much of a second trip goes on before all else: about what one such visit
# in twenty uses where a single home waits for it (common practice, no source).
NEEDED_MINUTES = 5.0
# Less likely than this nobody need look whether it is on the truck (common practice, no source).
WORTH_LOOKING = 0.005
_NEGLIGIBLE = 1e-5


@dataclass(frozen=True, slots=True)
class Load:
    """One part, how many, the chance that the repair uses it, and how many homes wait for it then."""

    part: PartId
    says: str
    quantity: int
    chance_used: float
    homes: float


def load_list(diagnosis: Diagnosis, group: Group) -> tuple[Load, ...]:
    """What to load for one group, likeliest first."""
    return loads(causes_behind(diagnosis, group))


def loads(causes: Iterable[Cause]) -> tuple[Load, ...]:
    """What to load for a ticket that one of these is behind, likeliest first."""
    used: dict[PartId, float] = defaultdict(float)
    saved: dict[PartId, float] = defaultdict(float)
    waiting: dict[PartId, float] = defaultdict(float)
    for cause in causes:
        for place, part in enumerate(faults()[cause.fault].parts):
            chance = USE_SHARE[min(place, len(USE_SHARE) - 1)] * cause.chance
            used[part] += chance
            saved[part] += chance * cause.second_trip_minutes
            waiting[part] += chance * cause.homes
    listed = [
        Load(part.id, part.says, 1, min(chance, 1.0), waiting[part.id] / chance)
        for part, chance in ((parts()[name], chance) for name, chance in used.items())
        if (
            chance > WORTH_LOOKING
            if part.always_on_truck
            else is_worth_carrying(part, saved[part.id])
        )
    ]
    return tuple(sorted(listed, key=lambda load: (-load.chance_used, load.part)))


def is_worth_carrying(part: Part, saved_minutes: float) -> bool:
    """Whether the second trips that it is expected to save are worth its room and its money."""
    price = part.room * MINUTES_PER_ROOM + part.cost * MINUTES_PER_DOLLAR
    return part.room <= MOST_ROOM and saved_minutes > price


def is_needed(chance_used: float, homes: float) -> bool:
    """Whether a part goes on before all else, where so many homes would wait for it."""
    return chance_used * second_trip_minutes(homes) >= NEEDED_MINUTES


def causes_behind(diagnosis: Diagnosis, group: Group) -> tuple[Cause, ...]:
    """Every fault that may be behind a complaint of a group, wherever it is.

    Its homes are those that wait if it is this: of the complaints those that it is behind, or, if they
    are more, all that it leaves without.
    """
    chance: dict[FaultId, float] = defaultdict(float)
    waiting: dict[FaultId, float] = defaultdict(float)
    diagnosis = diagnosis.of(group.apartments)
    for cause in (*_shared(diagnosis, group), *_own(diagnosis, group)):
        chance[cause.fault] += cause.chance
        waiting[cause.fault] += cause.chance * cause.homes
    return tuple(Cause(fault, chance[fault], waiting[fault] / chance[fault]) for fault in chance)


def _shared(diagnosis: Diagnosis, group: Group) -> Iterator[Cause]:
    homes = diagnosis.belief.troubled(group.apartments)
    by_home = np.array([diagnosis.causes[home].shared for home in homes])
    most, every = by_home.max(axis=0), by_home.sum(axis=0)
    for number in np.flatnonzero(most > _NEGLIGIBLE).tolist():
        candidate = diagnosis.belief.space.shared[number]
        if candidate.row is not None:
            chance = float(most[number])
            without = homes_left_without(diagnosis, number, candidate)
            yield Cause(candidate.fault, chance, max(float(every[number]) / chance, without))


def _own(diagnosis: Diagnosis, group: Group) -> Iterator[Cause]:
    homes = diagnosis.belief.troubled(group.apartments)
    for cause in (diagnosis.causes[home] for home in homes):
        local = diagnosis.belief.space.local(cause.apartment)
        for candidate, chance in zip(local, cause.own[1:].tolist(), strict=True):
            if candidate.row is not None and chance > _NEGLIGIBLE:
                yield Cause(candidate.fault, chance)
