"""The open tickets of a building as grouping sees them: what each holds, how old, in whose hands."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime, timedelta

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from service.store.tables import Closure, Complaint, DeskAct, Ticket, TicketEvent
from service.usecases.diagnosing.dangers_apart import home_key
from service.usecases.diagnosing.grouping import Holding
from service.usecases.rows.nothing_found import is_looked_only

__all__ = ["holdings_of"]

# One home's trouble that nobody has taken up for so long is no beginning of what others report now: the
# longest that an ordinary complaint waits (common practice, no source).
OLD = timedelta(hours=72)
# Acts with which a person says what is to happen with a ticket as it is.
TAKEN_UP = ("assign", "hold", "respond_by")


def holdings_of(
    session: Session,
    now: datetime,
    complaints: Sequence[Complaint],
    fixed: Mapping[str, str | None],
) -> list[Holding]:
    """Those that hold any of these complaints; ``fixed`` are the tickets of pinned homes."""
    ids = {str(c.ticket_id) for c in complaints if c.ticket_id is not None}
    # The history says which was made first: a ticket split off counts its time from its complaints.
    made = select(TicketEvent.ticket_id, func.min(TicketEvent.id)).group_by(TicketEvent.ticket_id)
    firsts = session.execute(made.where(TicketEvent.ticket_id.in_(ids)))
    numbers = {str(ticket_id): int(number) for ticket_id, number in firsts}
    barren, joined, taken = _barren(session, ids), _joined(session, ids), _taken_at(session, ids)
    rows = session.scalars(select(Ticket).where(Ticket.id.in_(ids), Ticket.state == "open"))
    found = []
    for ticket in rows:
        there = [c for c in complaints if c.ticket_id == ticket.id]
        came = {c.id: joined[ticket.id, c.id] for c in there if (ticket.id, c.id) in joined}
        age = now - max(c.since for c in there)
        is_old = age > OLD and ticket.scope == "apartment" and not _taken_up(ticket)
        is_story = is_old or ticket.id in barren or _is_put_off(ticket)
        of_one_home = len({home_key(c) for c in there}) == 1
        at = taken.get(ticket.id) if _taken_up(ticket) else None
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
                stale=of_one_home and is_story,
                firm=frozenset(c for c, event in came.items() if at is not None and event.at <= at),
                first=min(came, key=lambda c: came[c].id, default=""),
            )
        )
    return found


def _joined(session: Session, ids: Collection[str]) -> dict[tuple[str, str], TicketEvent]:
    """When each complaint came to each ticket, for the last time."""
    rows = session.scalars(
        select(TicketEvent)
        .where(TicketEvent.ticket_id.in_(ids), TicketEvent.what == "joined")
        .order_by(TicketEvent.id)
    )
    return {(row.ticket_id, str(row.body["complaint"])): row for row in rows}


def _taken_at(session: Session, ids: Collection[str]) -> dict[str, datetime]:
    """When a person last said what is to happen with a ticket."""
    rows = session.execute(
        select(DeskAct.ticket_id, func.max(DeskAct.at))
        .where(DeskAct.ticket_id.in_(ids), DeskAct.act.in_(TAKEN_UP), DeskAct.undone_at.is_(None))
        .group_by(DeskAct.ticket_id)
    )
    return {str(ticket_id): at for ticket_id, at in rows}


def _barren(session: Session, ids: Collection[str]) -> set[str]:
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


def _is_put_off(ticket: Ticket) -> bool:
    """Whether a person has said that it may wait, longer than by the rules."""
    if ticket.held_until is not None:
        return True
    if ticket.respond_by_set is None or len(ticket.because) < 2:
        return False
    by_rule = datetime.fromisoformat(ticket.because[1]["at"])  # the first one is the person's
    return datetime.fromisoformat(ticket.respond_by_set["at"]) > by_rule
