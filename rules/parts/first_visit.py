"""The chance that a ticket is repaired on the first visit, with what is on board.

Theory of operation
-------------------
A ticket is repaired on the first visit if the parts that its fault turns out to need are on board. A
fault uses each of its parts by itself with the share of ``rules.parts``; parts on board serve the stops
in their order, so the second ticket finds a part only if the first has left one. The expected number of
tickets repaired on the first visit is

    sum over tickets of sum over faults of P(fault) * product over parts of (1 - share * P(none left))

What that saves is for each fault the second trip with the homes that would wait for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from math import prod

from rules.faults.catalogue import faults
from rules.model import FaultId, PartId
from rules.parts import USE_SHARE, Cause

__all__ = [
    "MOST_OF_ONE",
    "DayTicket",
    "day_ticket",
    "first_visit",
    "first_visits",
    "missing",
    "shares_of",
    "uses",
]

# More of one part than this is a stock, not a load (common practice, no source).
MOST_OF_ONE = 3


@dataclass(frozen=True, slots=True)
class DayTicket:
    """One stop: its suspects with their chances, also those too unlikely to be named."""

    ticket: str
    suspects: tuple[Cause, ...]


def day_ticket(ticket: str, causes: Iterable[Cause]) -> DayTicket:
    """A stop of which these faults may be the cause, those that use the same parts as the likeliest.

    Where homes may each have a fault of their own, chances add up to more than one visit; then they are
    shares of one.
    """
    by_parts: dict[tuple[PartId, ...], list[Cause]] = {}
    for cause in sorted(causes, key=lambda cause: -cause.chance):
        by_parts.setdefault(faults()[cause.fault].parts, []).append(cause)
    together = [_as_one(alike) for alike in by_parts.values()]
    every = max(1.0, sum(cause.chance for cause in together))
    return DayTicket(ticket, tuple(c._replace(chance=c.chance / every) for c in together))


def _as_one(causes: Sequence[Cause]) -> Cause:
    """Several as the first of them, with the homes that wait in the mean."""
    chance = sum(cause.chance for cause in causes)
    return Cause(causes[0].fault, chance, sum(c.chance * c.homes for c in causes) / chance)


def first_visits(tickets: Sequence[DayTicket], load: Mapping[PartId, int]) -> list[float]:
    """By ticket, the chance that the parts its repair needs are on board when it is its turn."""
    return [
        first_visit(t, {p: left[min(load.get(p, 0), MOST_OF_ONE)] for p, left in of_ticket.items()})
        for t, of_ticket in zip(tickets, missing(tickets), strict=True)
    ]


def missing(tickets: Sequence[DayTicket]) -> list[dict[PartId, list[float]]]:
    """By ticket and part: the chance that none is left, with 0, 1, 2 ... on board in the morning."""
    used: dict[PartId, list[float]] = {}  # P(so many have been used), by part
    found: list[dict[PartId, list[float]]] = []
    for ticket in tickets:
        wanted = uses(ticket)
        counts = range(MOST_OF_ONE + 1)
        found.append({p: [1.0 - sum(used.get(p, [1.0])[:n]) for n in counts] for p in wanted})
        for part, chance in wanted.items():
            used[part] = _one_more(used.get(part, [1.0]), min(chance, 1.0))
    return found


def first_visit(ticket: DayTicket, none_left: Mapping[PartId, float]) -> float:
    """The chance for one ticket; ``none_left`` is by part, when it is its turn."""
    return sum(
        cause.chance * prod(1 - share * none_left[part] for part, share in shares_of(cause.fault))
        for cause in ticket.suspects
    )


def uses(ticket: DayTicket) -> dict[PartId, float]:
    """Chance by part that the repair of this ticket uses it."""
    used: dict[PartId, float] = {}
    for cause in ticket.suspects:
        for part, share in shares_of(cause.fault):
            used[part] = used.get(part, 0.0) + share * cause.chance
    return used


def _one_more(used: Sequence[float], chance: float) -> list[float]:
    """Distribution of how many are used, after one more ticket that may use one."""
    made = [0.0] * (len(used) + 1)
    for n, share in enumerate(used):
        made[n] += share * (1 - chance)
        made[n + 1] += share * chance
    return made


@cache
def shares_of(fault: FaultId) -> tuple[tuple[PartId, float], ...]:
    """The parts that a fault names, each with the share of its repairs that use it."""
    named = faults()[fault].parts
    return tuple((p, USE_SHARE[min(n, len(USE_SHARE) - 1)]) for n, p in enumerate(named))
