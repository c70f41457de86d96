"""The load list of a day: one truck for all its tickets.

Theory of operation
-------------------
The expected number of tickets repaired on the first visit (``first_visit``) is made as large as the
truck's room and the stock's cost allow: the item with most gain for its price is added until none fits,
for several notions of price; then one or two items are taken out and the room is filled anew, while that
helps. The lists come within a few percent of the best possible ones
(``tests/rules/parts/test_day_load.py`` tries all small ones).
Parts that always are on the truck cost nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import prod

from rules.faults.catalogue import parts
from rules.model import PartId
from rules.parts.first_visit import (
    MOST_OF_ONE,
    DayTicket,
    first_visit,
    first_visits,
    missing,
    uses,
)

__all__ = ["DayLoad", "DayPart", "DayTicket", "Truck", "day_load"]

# With more items than this only one at a time is taken out again: there is little left to gain.
_FEW = 8
# Less than this share of a repair is not worth lifting a part in.
LEAST_GAIN = 0.01


@dataclass(frozen=True, slots=True)
class Truck:
    """What it holds: shoe boxes of shelf, dollars of stock (common practice, no source)."""

    room: float = 30.0
    cost: float = 1500.0


@dataclass(frozen=True, slots=True)
class DayPart:
    """A part to load: how many, the chance that one is used, and for which tickets."""

    part: PartId
    says: str
    quantity: int
    chance_used: float
    tickets: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DayLoad:
    """What to load, likeliest first, and the chance by ticket that the first visit mends it."""

    parts: tuple[DayPart, ...]
    first_visit: Mapping[str, float]


Load = dict[PartId, int]


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
    """Loads of one day compared; what a ticket gains from its own parts is computed once."""

    def __init__(self, tickets: Sequence[DayTicket], truck: Truck) -> None:
        """Nothing is loaded yet but what always is."""
        self.truck = truck
        self._missing = missing(tickets)
        wanted = sorted({part for of_ticket in self._missing for part in of_ticket})
        self.always = {p: MOST_OF_ONE for p in wanted if parts()[p].always_on_truck}
        self.to_choose = [p for p in wanted if p not in self.always]
        self._tickets = tickets
        self._known: list[dict[tuple[int, ...], float]] = [{} for _ in tickets]

    def worth(self, load: Load) -> float:
        """Expected number of first-visit repairs."""
        total = 0.0
        for ticket, lacking, known in zip(self._tickets, self._missing, self._known, strict=True):
            own = tuple(self.always.get(p, 0) or load.get(p, 0) for p in lacking)
            if own not in known:
                none_left = {p: lacking[p][n] for p, n in zip(lacking, own, strict=True)}
                known[own] = first_visit(ticket, none_left)
            total += known[own]
        return total

    def filled(
        self, start: Load, price: Callable[[PartId, Truck], float], but: PartId | None
    ) -> Load:
        """Item by item, the one with most gain for its price; never the one just taken out."""
        load, total = dict(start), self.worth(start)
        while True:
            best: tuple[float, float, PartId] | None = None
            for part in self.to_choose:
                more = {**load, part: load.get(part, 0) + 1}
                if part == but or more[part] > MOST_OF_ONE or not _fits(more, self.truck):
                    continue
                gain = self.worth(more) - total
                if gain >= LEAST_GAIN and (
                    best is None or gain / price(part, self.truck) > best[0]
                ):
                    best = (gain / price(part, self.truck), gain, part)
            if best is None:
                return load
            load[best[2]] = load.get(best[2], 0) + 1
            total += best[1]

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


def _fits(load: Load, truck: Truck) -> bool:
    room = sum(parts()[p].room * n for p, n in load.items())
    cost = sum(parts()[p].cost * n for p, n in load.items())
    return room <= truck.room and cost <= truck.cost


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
        served = tuple(t for t, u in by_ticket.items() if u >= LEAST_GAIN)
        quantity = load.get(part, 1)
        found.append(DayPart(part, parts()[part].says, quantity, chance, served))
    return found
