"""Put every open complaint of a building on the ticket where evidence, or a person, wants it.

Danger first, alone or with homes in the same danger; then what people have pinned, which stays; then
the groups of the diagnosis; then whatever is left, each home by itself.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from rules.diagnosis import Diagnosis, Group
from service.store.tables import Complaint, Ticket
from service.usecases.diagnosing.dangers_apart import DANGER, dangers_apart, home_key
from service.usecases.diagnosing.grouping import Cluster, assign, linked
from service.usecases.diagnosing.holdings import holdings_of
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
    holdings = holdings_of(session, now, complaints, fixed)
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
    every = set(group.apartments)
    first = next((s for s in group.suspects if every <= set(s.explains)), None)
    if first is None:
        return OWN if len(every) == 1 else "they belong together"
    cause = f"{first.says} ({first.component})"
    if len(every) > 1:
        return f"one cause would explain them together: {cause}"
    if len(first.reaches) > 1:
        return f"no other report fits the same cause: {cause}"
    return f"it is explained better by itself: {cause}"
