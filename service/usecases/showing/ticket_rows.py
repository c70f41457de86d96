"""The rows that belong to a ticket."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import Closure, Complaint, Ticket, TicketEvent

__all__ = ["complaints_of", "events_of", "last_closure"]


def complaints_of(session: Session, ticket: Ticket) -> list[Complaint]:
    """The complaints a ticket covers; for a closed one those it covered when it was closed."""
    query = select(Complaint).where(Complaint.ticket_id == ticket.id)
    if ticket.state == "open":
        query = query.where(Complaint.closed_at.is_(None))
    return list(session.scalars(query.order_by(Complaint.opened_at, Complaint.id)))


def events_of(session: Session, ticket: Ticket) -> list[TicketEvent]:
    """What has happened to it, the oldest first."""
    return list(
        session.scalars(
            select(TicketEvent).where(TicketEvent.ticket_id == ticket.id).order_by(TicketEvent.id)
        )
    )


def last_closure(session: Session, ticket: Ticket) -> Closure | None:
    """How it was closed last; None if it never was."""
    return session.scalars(
        select(Closure).where(Closure.ticket_id == ticket.id).order_by(Closure.id.desc()).limit(1)
    ).first()
