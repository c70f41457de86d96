"""Which open ticket goes on as which group of complaints. Pure; no rows, no session.

Only complaints that nobody has pinned are put anywhere; a pinned one stays where it is and draws
the others of its cause there. A group keeps the open ticket that shares most with it, the pinned
ones counted; where two share as many, the one with more of those that may still move, then one on
which no visit has found nothing, then the one that was about the same thing, then the one with the
freshest complaint by days, then the oldest. Each ticket
goes on as one group at most, each group has one ticket at most; a group left over gets a new ticket.
Where homes of one ticket part, it goes on with those for whom a person took it up, else with the
larger share, else with whoever was on it first. A danger ticket is only ever kept by the danger it
was opened for, and a ticket that a person has split off takes in nothing. A stale ticket, one home's
old story or one that a person has put off, takes in no other home: a shared fault that starves that
home too is not what it was about, and does not wait since or until then.

Grouping the same complaints twice gives the same tickets: putting a group on its ticket makes that
pair's share larger and no other pair's.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

__all__ = ["Cluster", "Holding", "assign", "linked"]


@dataclass(frozen=True, slots=True)
class Cluster:
    """Complaints that belong on one ticket now; ``pinned`` are others of the same cause."""

    complaints: frozenset[str]
    danger: bool = False
    pinned: frozenset[str] = frozenset()
    why: str = ""  # why they belong together, in words
    about: tuple[str, str] | None = None  # scope and component, as a ticket has them


@dataclass(frozen=True, slots=True)
class Holding:
    """An open ticket with the complaints it holds so far: those that may move, and the pinned."""

    ticket: str
    opened_at: datetime
    danger: bool
    complaints: frozenset[str]
    pinned: frozenset[str] = frozenset()
    alone: bool = False
    made: int = 0  # tickets made earlier have smaller numbers
    about: tuple[str, str] | None = None
    days: int = 0  # whole ones since the last of its complaints was opened, or opened again
    barren: bool = False  # the last visit has found nothing
    stale: bool = False  # a story of one home, old or barren or put off
    firm: frozenset[str] = frozenset()  # complaints that were there when a person took it up
    first: str = ""  # the complaint that came first of those that are there


def linked(clusters: Sequence[Cluster], holdings: Sequence[Holding]) -> list[Cluster]:
    """The clusters, those made one whose pinned complaints a person has put on one ticket."""
    together: dict[str, list[Cluster]] = {}
    apart: list[Cluster] = []
    for cluster in clusters:
        ticket = _drawn_to(cluster, holdings)
        if ticket is None:
            apart.append(cluster)
        else:
            together.setdefault(ticket, []).append(cluster)
    joined = [
        Cluster(
            frozenset().union(*(c.complaints for c in part)),
            pinned=frozenset().union(*(c.pinned for c in part)),
            why=leading.why,
            about=leading.about,
        )
        for part in together.values()
        for leading in (max(part, key=lambda c: len(c.complaints)),)
    ]
    return [c for c in (*joined, *apart) if c.complaints]


def assign(clusters: Sequence[Cluster], holdings: Sequence[Holding]) -> tuple[str | None, ...]:
    """For each cluster the ticket it keeps, or None for a new one."""
    most_firm = {
        h.ticket: max((len(c.complaints & h.firm) for c in clusters if _may_take(c, h)), default=0)
        for h in holdings
    }
    pairs = []
    for index, cluster in enumerate(clusters):
        for holding in holdings:
            loose = len(cluster.complaints & holding.complaints)
            fixed = 0 if holding.alone else len(cluster.pinned & holding.pinned)
            firm = len(cluster.complaints & holding.firm)
            if loose + fixed and firm == most_firm[holding.ticket] and _may_take(cluster, holding):
                share = (-loose - fixed, -loose, holding.barren, cluster.about != holding.about)
                age = (holding.days, holding.opened_at, holding.made)
                is_later = holding.first not in cluster.complaints
                pairs.append((share, age, holding.ticket, is_later, index))
    kept: dict[int, str] = {}
    taken: set[str] = set()
    for _share, _age, ticket, _is_later, index in sorted(pairs):
        if index not in kept and ticket not in taken:
            kept[index] = ticket
            taken.add(ticket)
    return tuple(kept.get(index) for index in range(len(clusters)))


def _may_take(cluster: Cluster, holding: Holding) -> bool:
    """A danger stands alone, so not beside what a person has pinned; and nothing joins a danger.

    Nor what is stale, unless a person has put its cause there.
    """
    if cluster.danger:
        return not holding.pinned
    if holding.danger:
        return False
    return (
        not holding.stale
        or cluster.complaints <= holding.complaints
        or bool(cluster.pinned & holding.pinned)
    )


def _drawn_to(cluster: Cluster, holdings: Sequence[Holding]) -> str | None:
    """The ticket that holds most of a cluster's pinned complaints."""
    if cluster.danger:
        return None
    shares = Counter(
        {
            h.ticket: len(cluster.pinned & h.pinned)
            for h in sorted(holdings, key=lambda h: (h.opened_at, h.made, h.ticket))
            if not h.alone and not h.danger
        }
    )
    most = shares.most_common(1)
    return most[0][0] if most and most[0][1] else None
