"""The load list of a day: one truck for all its tickets.

Theory of operation
-------------------
The expected number of tickets repaired on the first visit (``first_visit``) is made as large as the
truck's room and the stock's cost allow: the item with most gain for its price is added until none fits,
for several notions of price; then one or two items are taken out and the room is filled anew, while that
helps. What is not worth carrying for a ticket alone is not worth it for a day either
(``rules.parts.is_worth_carrying``). The lists come within a few percent of the best possible ones
(``tests/rules/parts/test_day_load.py`` tries all small ones).
Parts that always are on the truck cost nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import prod

from rules.faults.catalogue import parts
from rules.model import FaultId, PartId
from rules.parts import is_worth_carrying
from rules.parts.first_visit import (
    MOST_OF_ONE,
    DayTicket,
    first_visits,
    missing,
    shares_of,
    uses,
)

__all__ = ["DayLoad", "DayPart", "DayTicket", "DayUse", "Truck", "day_load"]

# With more items than this only one at a time is taken out again: there is little left to gain.
_FEW = 8
# Of a part used more rarely than that for a ticket nobody need know which ticket it was.
LEAST_GAIN = 0.01
# What one such day in ten uses is put on before all else (common practice, no source).
NEEDED = 0.1


@dataclass(frozen=True, slots=True)
class Truck:
    """What it holds: shoe boxes of shelf, dollars of stock (common practice, no source)."""

    room: float = 30.0
    cost: float = 1500.0


@dataclass(frozen=True, slots=True)
class DayUse:
    """A ticket whose repair may use a part: how likely, and the likeliest fault that does."""

    ticket: str
    chance: float
    fault: FaultId


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
        return self.chance_used >= NEEDED


@dataclass(frozen=True, slots=True)
class DayLoad:
    """What to load, likeliest first, and the chance by ticket that the first visit mends it."""

    parts: tuple[DayPart, ...]
    first_visit: Mapping[str, float]


Load = dict[PartId, int]
# One way to be repaired: its chance, and of each part the chance not to miss it with 0, 1, 2 ... loaded.
_Way = tuple[float, tuple[tuple[PartId, tuple[float, ...]], ...]]


def day_load(tickets: Sequence[DayTicket], truck: Truck) -> DayLoad:
    """The load that repairs most tickets on the first visit."""
    used = [uses(ticket) for ticket in tickets]
    search = _Search(tickets, truck)
    always, load = search.always, search.best()
    chances = first_visits(tickets, {**always, **load})
    return DayLoad(
        tuple(sorted(_listed(tickets, used, always, load), key=lambda p: (-p.chance_used, p.part))),
        {t.ticket: c for t, c in zip(tickets, chances, strict=True)},
    )


class _Search:
    """Loads of one day compared; what a ticket may need of the parts to choose from is listed once."""

    def __init__(self, tickets: Sequence[DayTicket], truck: Truck) -> None:
        """Nothing is loaded yet but what always is."""
        self.truck = truck
        used: dict[PartId, float] = {}
        for ticket in tickets:
            for part, chance in uses(ticket).items():
                used[part] = used.get(part, 0.0) + chance
        self.always = {p: MOST_OF_ONE for p in sorted(used) if parts()[p].always_on_truck}
        # What is not worth it with every use can gain no more.
        self.to_choose = {
            p for p in used if p not in self.always and is_worth_carrying(parts()[p], used[p])
        }
        lacking = missing(tickets)
        self._ways = [way for n, t in enumerate(tickets) for way in self._ways_of(t, lacking[n])]

    def _ways_of(self, ticket: DayTicket, lacking: Mapping[PartId, Sequence[float]]) -> list[_Way]:
        """What a ticket may need to be repaired, with the chance that nothing else is missing."""
        chances: dict[tuple[tuple[PartId, float], ...], float] = {}
        for fault, chance in ticket.suspects:
            shares = shares_of(fault)
            else_there = prod(
                1 - share * lacking[p][self.always.get(p, 0)]
                for p, share in shares
                if p not in self.to_choose
            )
            own = tuple((p, share) for p, share in shares if p in self.to_choose)
            chances[own] = chances.get(own, 0.0) + chance * else_there
        return [
            (chance, tuple((p, tuple(1 - share * none for none in lacking[p])) for p, share in own))
            for own, chance in chances.items()
        ]

    def worth(self, load: Load) -> float:
        """Expected number of first-visit repairs."""
        return sum(_repaired(way, load) for way in self._ways)

    def _gains(self, load: Load) -> dict[PartId, float]:
        """What one more of each part would add to that."""
        gains = dict.fromkeys(sorted(self.to_choose), 0.0)
        for way in self._ways:
            repaired = _repaired(way, load)
            for part, there in way[1]:
                count = load.get(part, 0)
                if count < MOST_OF_ONE:
                    gains[part] += repaired * (there[count + 1] / there[count] - 1)
        return gains

    def filled(
        self, start: Load, price: Callable[[PartId, Truck], float], but: PartId | None
    ) -> Load:
        """Item by item, the one with most gain for its price; never the one just taken out."""
        load = dict(start)
        while True:
            room, cost = _left(load, self.truck)
            worth_it = {
                part: gain / price(part, self.truck)
                for part, gain in self._gains(load).items()
                if is_worth_carrying(parts()[part], gain)
                and part != but
                and parts()[part].room <= room
                and parts()[part].cost <= cost
            }
            if not worth_it:
                return load
            best = max(worth_it, key=lambda part: worth_it[part])
            load[best] = load.get(best, 0) + 1

    def best(self) -> Load:
        """The best load that is found."""
        started = [self.filled({}, price, None) for price in _PRICES]
        load = max(started, key=self.worth)
        total, improved = self.worth(load), True
        while improved:
            improved = False
            for fewer, out in _without_some(load):
                for price in _PRICES if len(load) <= _FEW else _PRICES[:1]:
                    other = self.filled(fewer, price, out)
                    if self.worth(other) > total + 1e-9:
                        load, total, improved = other, self.worth(other), True
                        break
                if improved:
                    break
        return load


def _without_some(load: Load) -> Iterator[tuple[Load, PartId]]:
    """The load without one item, and without two; and one that went."""
    units = [part for part, n in sorted(load.items()) for _ in range(n)]
    for size in (1, 2) if len(units) <= _FEW else (1,):
        for out in dict.fromkeys(combinations(units, size)):
            left = {p: n - out.count(p) for p, n in load.items()}
            yield {p: n for p, n in left.items() if n}, out[0]


def _repaired(way: _Way, load: Load) -> float:
    """The chance that it is this, and that what it needs is on board when it is its turn."""
    chance, needs = way
    for part, there in needs:
        chance *= there[load.get(part, 0)]
    return chance


def _left(load: Load, truck: Truck) -> tuple[float, float]:
    """The room and the money that a load leaves."""
    room = sum(parts()[p].room * n for p, n in load.items())
    return truck.room - room, truck.cost - sum(parts()[p].cost * n for p, n in load.items())


def _by_both(part: PartId, truck: Truck) -> float:
    return max(parts()[part].room / truck.room, parts()[part].cost / truck.cost)


def _by_room(part: PartId, truck: Truck) -> float:
    return parts()[part].room / truck.room


def _by_cost(part: PartId, truck: Truck) -> float:
    return parts()[part].cost / truck.cost


def _by_nothing(_: PartId, __: Truck) -> float:
    return 1.0


_PRICES = (_by_both, _by_room, _by_cost, _by_nothing)


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
            DayUse(t.ticket, by_ticket[t.ticket], _likeliest(t, part))
            for t in tickets
            if by_ticket[t.ticket] >= LEAST_GAIN
        ]
        served.sort(key=lambda use: -use.chance)
        quantity = load.get(part, 1)
        found.append(DayPart(part, parts()[part].says, quantity, chance, tuple(served)))
    return found


def _likeliest(ticket: DayTicket, part: PartId) -> FaultId:
    """The fault for which a ticket most likely uses a part."""
    using = [(c * dict(shares_of(f)).get(part, 0.0), f) for f, c in ticket.suspects]
    return max(using)[1]
