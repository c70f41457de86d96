"""What one truck holds for a day, filled so that repairs on the first visit save most.

Theory of operation
-------------------
What repairs on the first visit save (``first_visit``), each counted as the second trip with the homes
that would wait for it (``waiting``), is made as large as the truck's room and the stock's cost allow:
the item with most gain for its price is added until none fits, for several notions of price; then one or
two items are taken out and the room is filled anew, while that helps. What is not worth carrying for a
ticket alone is not worth it for a day either (``rules.parts.is_worth_carrying``). The lists come within
a few percent of the best possible ones (``tests/rules/parts/test_day_load.py`` tries all small ones).
Parts that always are on the truck cost nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import prod

from rules.faults.catalogue import parts
from rules.model import PartId
from rules.parts import MOST_ROOM, is_worth_carrying
from rules.parts.first_visit import MOST_OF_ONE, DayTicket, missing, shares_of

__all__ = ["Filling", "Load", "Truck"]

# With more items than this only one at a time is taken out again: there is little left to gain.
_FEW = 8


@dataclass(frozen=True, slots=True)
class Truck:
    """What it holds: shoe boxes of shelf, dollars of stock (common practice, no source)."""

    room: float = MOST_ROOM
    cost: float = 1500.0


Load = dict[PartId, int]
# One way to be repaired: the minutes that it saves times its chance, and of each part the chance not to
# miss it with 0, 1, 2 ... loaded.
_Way = tuple[float, tuple[tuple[PartId, tuple[float, ...]], ...]]


class Filling:
    """Loads of one day compared; what a ticket may need of the parts to choose from is listed once."""

    def __init__(self, tickets: Sequence[DayTicket], truck: Truck) -> None:
        """Nothing is loaded yet but what always is."""
        self.truck = truck
        saved: dict[PartId, float] = {}
        for cause in (cause for ticket in tickets for cause in ticket.suspects):
            for part, share in shares_of(cause.fault):
                minutes = share * cause.chance * cause.second_trip_minutes
                saved[part] = saved.get(part, 0.0) + minutes
        self.always = {p: MOST_OF_ONE for p in sorted(saved) if parts()[p].always_on_truck}
        # What is not worth it with every use can gain no more.
        self.to_choose = {
            p for p in saved if p not in self.always and is_worth_carrying(parts()[p], saved[p])
        }
        lacking = missing(tickets)
        self._ways = [way for n, t in enumerate(tickets) for way in self._ways_of(t, lacking[n])]

    def _ways_of(self, ticket: DayTicket, lacking: Mapping[PartId, Sequence[float]]) -> list[_Way]:
        """What a ticket may need to be repaired, with what it saves if nothing else is missing."""
        saves: dict[tuple[tuple[PartId, float], ...], float] = {}
        for cause in ticket.suspects:
            shares = shares_of(cause.fault)
            else_there = prod(
                1 - share * lacking[p][self.always.get(p, 0)]
                for p, share in shares
                if p not in self.to_choose
            )
            own = tuple((p, share) for p, share in shares if p in self.to_choose)
            minutes = cause.chance * else_there * cause.second_trip_minutes
            saves[own] = saves.get(own, 0.0) + minutes
        return [
            (saved, tuple((p, tuple(1 - share * none for none in lacking[p])) for p, share in own))
            for own, saved in saves.items()
        ]

    def worth(self, load: Load) -> float:
        """Expected minutes that first-visit repairs save."""
        return sum(_saved(way, load) for way in self._ways)

    def _gains(self, load: Load) -> dict[PartId, float]:
        """What one more of each part would add to that."""
        gains = dict.fromkeys(sorted(self.to_choose), 0.0)
        for way in self._ways:
            saved = _saved(way, load)
            for part, there in way[1]:
                count = load.get(part, 0)
                if count < MOST_OF_ONE:
                    gains[part] += saved * (there[count + 1] / there[count] - 1)
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


def _saved(way: _Way, load: Load) -> float:
    """What it saves, times the chance that what it needs is on board when it is its turn."""
    saved, needs = way
    for part, there in needs:
        saved *= there[load.get(part, 0)]
    return saved


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
