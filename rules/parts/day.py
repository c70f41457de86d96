"""The load list of a day: one truck for all its tickets, and for which of them each part is."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import prod

from rules.faults.catalogue import parts
from rules.model import FaultId, PartId
from rules.parts.filling import Filling, Load, Truck
from rules.parts.first_visit import DayTicket, first_visits, shares_of, uses
from rules.parts.waiting import second_trip_minutes

__all__ = ["DayLoad", "DayPart", "DayTicket", "DayUse", "Truck", "day_load"]

# Of a part used more rarely than that for a ticket nobody need know which ticket it was.
LEAST_GAIN = 0.01
# What is expected to save that much of a second trip is put on before all else: about what one such day
# in ten uses where a single home waits for it (common practice, no source).
NEEDED_MINUTES = 10.0


@dataclass(frozen=True, slots=True)
class DayUse:
    """A ticket whose repair may use a part: how likely, for which fault first, how many homes wait."""

    ticket: str
    chance: float
    fault: FaultId
    homes: float


@dataclass(frozen=True, slots=True)
class DayPart:
    """A part to load: how many, the chance that one is used, and for which tickets, likeliest first."""

    part: PartId
    says: str
    quantity: int
    chance_used: float
    uses: tuple[DayUse, ...]

    @property
    def needed(self) -> bool:
        """Whether it goes on before all else; what is rarer goes on if there is room."""
        return self._saves(lambda use: use.homes) >= NEEDED_MINUTES

    @property
    def is_for_many(self) -> bool:
        """Whether it goes on before all else only because several homes would wait for it."""
        return self.needed and self._saves(lambda _: 1.0) < NEEDED_MINUTES

    def _saves(self, waiting: Callable[[DayUse], float]) -> float:
        return sum(use.chance * second_trip_minutes(waiting(use)) for use in self.uses)


@dataclass(frozen=True, slots=True)
class DayLoad:
    """What to load, likeliest first, and the chance by ticket that the first visit mends it."""

    parts: tuple[DayPart, ...]
    first_visit: Mapping[str, float]


def day_load(tickets: Sequence[DayTicket], truck: Truck) -> DayLoad:
    """The load whose repairs on the first visit save most."""
    used = [uses(ticket) for ticket in tickets]
    search = Filling(tickets, truck)
    always, load = search.always, search.best()
    chances = first_visits(tickets, {**always, **load})
    return DayLoad(
        tuple(sorted(_listed(tickets, used, always, load), key=lambda p: (-p.chance_used, p.part))),
        {t.ticket: c for t, c in zip(tickets, chances, strict=True)},
    )


def _listed(
    tickets: Sequence[DayTicket],
    used: Sequence[Mapping[PartId, float]],
    always: Load,
    load: Load,
) -> list[DayPart]:
    """The chosen parts, and of those always on board the ones likely enough to look for."""
    found: list[DayPart] = []
    for part in {**always, **load}:
        by_ticket = {t.ticket: u.get(part, 0.0) for t, u in zip(tickets, used, strict=True)}
        chance = 1.0 - prod(1.0 - min(u, 1.0) for u in by_ticket.values())
        if part in always and chance < 2 * LEAST_GAIN:
            continue
        served = [
            _use(ticket, part, by_ticket[ticket.ticket])
            for ticket in tickets
            if by_ticket[ticket.ticket] >= LEAST_GAIN
        ]
        served.sort(key=lambda use: -use.chance)
        quantity = load.get(part, 1)
        found.append(DayPart(part, parts()[part].says, quantity, chance, tuple(served)))
    return found


def _use(ticket: DayTicket, part: PartId, chance: float) -> DayUse:
    """What one ticket uses a part for: its likeliest fault, and the mean number of homes that wait."""
    using = [(c.chance * dict(shares_of(c.fault)).get(part, 0.0), c) for c in ticket.suspects]
    _, likeliest = max(using, key=lambda use: (use[0], use[1].fault))
    homes = sum(share * cause.homes for share, cause in using) / chance
    return DayUse(ticket.ticket, chance, likeliest.fault, homes)
