"""The load list of a day: one truck for all its tickets.

Theory of operation
-------------------
A ticket is repaired on the first visit if the parts that its fault turns out to need are on board. A
fault uses each of its parts by itself with the share of ``rules.parts``; parts on board serve the stops
in their order, so the second ticket finds a part only if the first has left one. The expected number of
tickets repaired on the first visit is

    sum over tickets of sum over faults of P(fault) * product over parts of (1 - share * P(none left))

and is made as large as the truck's room and the stock's cost allow: the item with most gain for its
price is added until none fits, for several notions of price; then one or two items are taken out and the
room is filled anew, while that helps. The lists come within a few percent of the best possible ones
(``tests/rules/parts/test_day_load.py`` tries all small ones).
Parts that always are on the truck cost nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations

from rules.faults.catalogue import faults, parts
from rules.model import FaultId, PartId
from rules.parts import USE_SHARE

__all__ = ["DayLoad", "DayPart", "DayTicket", "Truck", "day_load", "first_visits"]

# More of one part than this is a stock, not a load (common practice, no source).
MOST_OF_ONE = 3
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
class DayTicket:
    """One stop: its suspects with their chances, in the order in which the stops are made."""

    ticket: str
    suspects: tuple[tuple[FaultId, float], ...]


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
    uses = [_uses(ticket) for ticket in tickets]
    search = _Search(tickets, truck)
    always, load = search.always, search.best()
    chances = first_visits(tickets, {**always, **load})
    return DayLoad(
        tuple(sorted(_listed(tickets, uses, always, load), key=lambda p: (-p.chance_used, p.part))),
        {t.ticket: c for t, c in zip(tickets, chances, strict=True)},
    )


def first_visits(tickets: Sequence[DayTicket], load: Mapping[PartId, int]) -> list[float]:
    """By ticket, the chance that the parts its repair needs are on board when it is its turn."""
    missing = _missing(tickets)
    return [
        _first_visit(t, {p: missing[n][p][min(load.get(p, 0), MOST_OF_ONE)] for p in missing[n]})
        for n, t in enumerate(tickets)
    ]


def _missing(tickets: Sequence[DayTicket]) -> list[dict[PartId, list[float]]]:
    """By ticket and part: the chance that none is left, with 0, 1, 2 ... on board in the morning."""
    used: dict[PartId, list[float]] = {}  # P(so many have been used), by part
    found: list[dict[PartId, list[float]]] = []
    for ticket in tickets:
        uses = _uses(ticket)
        counts = range(MOST_OF_ONE + 1)
        found.append({p: [1.0 - sum(used.get(p, [1.0])[:n]) for n in counts] for p in uses})
        for part, chance in uses.items():
            used[part] = _one_more(used.get(part, [1.0]), min(chance, 1.0))
    return found


def _first_visit(ticket: DayTicket, none_left: Mapping[PartId, float]) -> float:
    return sum(
        chance * _product(1 - share * none_left[part] for part, share in _shares(fault))
        for fault, chance in ticket.suspects
    )


def _one_more(used: Sequence[float], chance: float) -> list[float]:
    """Distribution of how many are used, after one more ticket that may use one."""
    made = [0.0] * (len(used) + 1)
    for n, share in enumerate(used):
        made[n] += share * (1 - chance)
        made[n + 1] += share * chance
    return made


@cache
def _shares(fault: FaultId) -> tuple[tuple[PartId, float], ...]:
    named = faults()[fault].parts
    return tuple((p, USE_SHARE[min(n, len(USE_SHARE) - 1)]) for n, p in enumerate(named))


def _uses(ticket: DayTicket) -> dict[PartId, float]:
    """Chance by part that the repair of this ticket uses it."""
    used: dict[PartId, float] = {}
    for fault, chance in ticket.suspects:
        for part, share in _shares(fault):
            used[part] = used.get(part, 0.0) + share * chance
    return used


class _Search:
    """Loads of one day compared; what a ticket gains from its own parts is computed once."""

    def __init__(self, tickets: Sequence[DayTicket], truck: Truck) -> None:
        """Nothing is loaded yet but what always is."""
        self.truck = truck
        self._missing = _missing(tickets)
        wanted = sorted({part for of_ticket in self._missing for part in of_ticket})
        self.always = {p: MOST_OF_ONE for p in wanted if parts()[p].always_on_truck}
        self.to_choose = [p for p in wanted if p not in self.always]
        self._tickets = tickets
        self._known: list[dict[tuple[int, ...], float]] = [{} for _ in tickets]

    def worth(self, load: Load) -> float:
        """Expected number of first-visit repairs."""
        total = 0.0
        for ticket, missing, known in zip(self._tickets, self._missing, self._known, strict=True):
            own = tuple(self.always.get(p, 0) or load.get(p, 0) for p in missing)
            if own not in known:
                none_left = {p: missing[p][n] for p, n in zip(missing, own, strict=True)}
                known[own] = _first_visit(ticket, none_left)
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


def _product(factors: Iterable[float]) -> float:
    product = 1.0
    for factor in factors:
        product *= factor
    return product


def _listed(
    tickets: Sequence[DayTicket],
    uses: Sequence[Mapping[PartId, float]],
    always: Load,
    load: Load,
) -> list[DayPart]:
    """The chosen parts, and of those always on board the ones likely enough to look for."""
    found: list[DayPart] = []
    for part in {**always, **load}:
        by_ticket = {t.ticket: u.get(part, 0.0) for t, u in zip(tickets, uses, strict=True)}
        chance = 1.0 - _product(1.0 - min(u, 1.0) for u in by_ticket.values())
        if part in always and chance < 2 * LEAST_GAIN:
            continue
        served = tuple(t for t, u in by_ticket.items() if u >= LEAST_GAIN)
        quantity = load.get(part, 1)
        found.append(DayPart(part, parts()[part].says, quantity, chance, served))
    return found
