"""Put every open complaint of a building on the ticket where evidence, or a person, wants it.

Danger first, alone or with homes in the same danger; then what people have pinned, which stays; then
the groups of the diagnosis; then whatever is left, each home by itself.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime, timedelta

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from rules.diagnosis import Diagnosis, Group
from service.store.tables import Closure, Complaint, Ticket, TicketEvent
from service.usecases.diagnosing.dangers_apart import DANGER, dangers_apart, home_key
from service.usecases.diagnosing.grouping import Cluster, Holding, assign, linked
from service.usecases.rows.nothing_found import is_looked_only
from service.usecases.rows.ticket_rows import (
    Move,
    lift_hold,
    move_complaints,
    open_ticket,
    record_event,
)

__all__ = ["bring_in_line", "let_dangers_go"]

SAME_HOME = "all complaints of one home are on one ticket"
OWN = "nothing ties it to other homes any more"
# One home's trouble that nobody has taken up for so long is no beginning of what others report now: the
# longest that an ordinary complaint waits (common practice, no source).
OLD = timedelta(hours=72)


def let_dangers_go(session: Session, now: datetime, complaints: Sequence[Complaint]) -> None:
    """A danger ends the hold of its ticket, and its pin where other homes are on the ticket."""
    for home in {home_key(c) for c in complaints if c.danger}:
        own = [c for c in complaints if home_key(c) == home and c.ticket_id is not None]
        for complaint in own:
            ticket = session.get_one(Ticket, str(complaint.ticket_id))
            lift_hold(session, now, ticket)
            others = [c for c in complaints if c.ticket_id == ticket.id and home_key(c) != home]
            if complaint.pinned and others:
                complaint.pinned = False
                body = {"complaint": complaint.id, "home": complaint.apartment, "why": DANGER}
                record_event(session, now, ticket.id, "unpinned", body)


def bring_in_line(
    session: Session,
    now: datetime,
    building_id: str | None,
    complaints: Sequence[Complaint],
    diagnosis: Diagnosis | None,
    *,
    plain: bool,
) -> list[Move]:
    """Find or open a ticket for each cluster and move the complaints there."""
    # The ticket on which a person has pinned a home; a danger stands for itself.
    fixed = {home_key(c): c.ticket_id for c in complaints if c.pinned and c.ticket_id is not None}
    for complaint in complaints:
        if complaint.danger:
            fixed.pop(home_key(complaint), None)
    by_id = {c.id: c for c in complaints}
    holdings = _holdings(session, now, complaints, fixed)
    clusters = linked(_clusters(complaints, fixed, diagnosis, plain=plain), holdings)
    placed = []
    for cluster, ticket_id in zip(clusters, assign(clusters, holdings), strict=True):
        members = [by_id[i] for i in sorted(cluster.complaints)]
        if ticket_id is None:
            since = None if cluster.danger else min(c.since for c in members)
            ticket = open_ticket(session, now, building_id, since)
        else:
            ticket = session.get_one(Ticket, ticket_id)
        ticket.building_id = building_id
        placed.append((ticket, members, cluster.why))
    moves: list[Move] = []
    for ticket, members, why in placed:
        moves += move_complaints(session, now, ticket, members, why)
    for complaint in complaints:
        there = fixed.get(home_key(complaint))
        if there is not None and complaint.ticket_id != there:
            ticket = session.get_one(Ticket, there)
            moves += move_complaints(session, now, ticket, [complaint], SAME_HOME)
    return moves


def _clusters(
    complaints: Sequence[Complaint],
    fixed: Mapping[str, str | None],
    diagnosis: Diagnosis | None,
    *,
    plain: bool,
) -> list[Cluster]:
    """Dangers, then the groups of the diagnosis, then whatever is left, each by itself."""
    left = {c.id: c for c in complaints if home_key(c) not in fixed}
    clusters = []
    for homes, why in dangers_apart(complaints, diagnosis, plain=plain):
        ids = frozenset(i for i, c in left.items() if home_key(c) in homes)
        clusters.append(Cluster(ids, danger=True, why=why))
        for complaint_id in ids:
            del left[complaint_id]
    for group in diagnosis.groups if diagnosis is not None else ():
        ids = frozenset(i for i, c in left.items() if c.apartment in group.apartments)
        pinned = frozenset(
            c.id for c in complaints if home_key(c) in fixed and c.apartment in group.apartments
        )
        about = (str(group.scope), str(group.component))
        clusters.append(Cluster(ids, pinned=pinned, why=_why(group), about=about))
        for complaint_id in ids:
            del left[complaint_id]
    return clusters + _left_over(left, plain=plain)


def _left_over(left: dict[str, Complaint], *, plain: bool) -> list[Cluster]:
    together: dict[str, set[str]] = {}
    # Without a diagnosis nothing says that the present grouping is wrong.
    held = {home_key(c): c.ticket_id for c in left.values() if plain and c.ticket_id}
    for complaint_id, complaint in left.items():
        key = held.get(home_key(complaint)) or home_key(complaint)
        together.setdefault(key, set()).add(complaint_id)
    return [Cluster(frozenset(ids), why=OWN) for ids in together.values()]


def _why(group: Group) -> str:
    """Why these homes are on one ticket, or this one is on its own, in words."""
    first = next(iter(group.suspects), None)
    if first is None:
        return OWN if len(group.apartments) == 1 else "they belong together"
    cause = f"{first.says} ({first.component})"
    if len(group.apartments) == 1:
        return f"it is explained better by itself: {cause}"
    return f"one cause would explain them together: {cause}"


def _holdings(
    session: Session,
    now: datetime,
    complaints: Sequence[Complaint],
    fixed: Mapping[str, str | None],
) -> list[Holding]:
    ids = {c.ticket_id for c in complaints if c.ticket_id is not None}
    # The history says which was made first: a ticket split off counts its time from its complaints.
    made = select(TicketEvent.ticket_id, func.min(TicketEvent.id)).group_by(TicketEvent.ticket_id)
    firsts = session.execute(made.where(TicketEvent.ticket_id.in_(ids)))
    numbers = {str(ticket_id): int(number) for ticket_id, number in firsts}
    barren = _barren(session, ids)
    rows = session.scalars(select(Ticket).where(Ticket.id.in_(ids), Ticket.state == "open"))
    found = []
    for ticket in rows:
        there = [c for c in complaints if c.ticket_id == ticket.id]
        age = now - max(c.since for c in there)
        is_old = age > OLD and ticket.scope == "apartment" and not _taken_up(ticket)
        of_one_home = len({home_key(c) for c in there}) == 1
        found.append(
            Holding(
                ticket.id,
                ticket.opened_at,
                ticket.danger or any(c.danger for c in there),
                frozenset(c.id for c in there if home_key(c) not in fixed),
                frozenset(c.id for c in there if home_key(c) in fixed),
                ticket.alone,
                numbers.get(ticket.id, 0),
                (ticket.scope, ticket.component),
                age.days,
                barren=ticket.id in barren,
                stale=of_one_home and (is_old or ticket.id in barren),
            )
        )
    return found


def _barren(session: Session, ids: Collection[str | None]) -> set[str]:
    """Tickets that were last closed because nothing was found."""
    last = {
        closure.ticket_id: is_looked_only(closure)
        for closure in session.scalars(
            select(Closure).where(Closure.ticket_id.in_(ids)).order_by(Closure.id)
        )
    }
    return {ticket for ticket, looked_only in last.items() if looked_only}


def _taken_up(ticket: Ticket) -> bool:
    """Whether a person has said what is to happen with it."""
    said = (ticket.assigned_to, ticket.held_until, ticket.respond_by_set)
    return any(value is not None for value in said)
