"""Which open ticket goes on as which group of complaints. Pure; no rows, no session.

A group keeps the open ticket that shares most of its complaints, the oldest where two share as
many. Each ticket goes on as one group at most, each group has one ticket at most; a group left
over gets a new ticket. A danger ticket is only ever kept by the danger it was opened for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

__all__ = ["Cluster", "Holding", "assign"]


@dataclass(frozen=True, slots=True)
class Cluster:
    """Complaints that belong on one ticket now."""

    complaints: frozenset[str]
    danger: bool = False


@dataclass(frozen=True, slots=True)
class Holding:
    """An open ticket with the complaints it holds so far."""

    ticket: str
    opened_at: datetime
    danger: bool
    complaints: frozenset[str]


def assign(clusters: Sequence[Cluster], holdings: Sequence[Holding]) -> tuple[str | None, ...]:
    """For each cluster the ticket it keeps, or None for a new one."""
    pairs = [
        (-len(cluster.complaints & holding.complaints), holding.opened_at, holding.ticket, index)
        for index, cluster in enumerate(clusters)
        for holding in holdings
        if cluster.complaints & holding.complaints and (cluster.danger or not holding.danger)
    ]
    kept: dict[int, str] = {}
    taken: set[str] = set()
    for _overlap, _opened_at, ticket, index in sorted(pairs):
        if index not in kept and ticket not in taken:
            kept[index] = ticket
            taken.add(ticket)
    return tuple(kept.get(index) for index in range(len(clusters)))
