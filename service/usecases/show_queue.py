"""The queue of tickets, most pressing first."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from service.store.tables import Building, Complaint, InboxMessage, Ticket
from service.usecases.alerts import open_alerts
from service.usecases.ids import reference
from service.usecases.pressing import zone_of
from service.usecases.views import QueueRow, QueueView

__all__ = ["queue_row", "show_queue"]

UNPLACED = "Home not known yet"


def show_queue(
    session: Session, now: datetime, *, state: str = "open", building: str | None = None
) -> QueueView:
    """Tickets in the order in which to act."""
    query = select(Ticket).where(Ticket.state == state)
    if building:
        query = query.where(Ticket.building_id == building)
    order = (Ticket.danger.desc(), Ticket.respond_by, Ticket.opened_at, Ticket.id)
    unread = session.scalar(
        select(func.count()).select_from(InboxMessage).where(InboxMessage.state != "read")
    )
    rows = tuple(queue_row(session, ticket) for ticket in session.scalars(query.order_by(*order)))
    alerts = open_alerts(session)
    return QueueView(now=now, rows=rows, unread_texts=unread or 0, alerts=alerts)


def queue_row(session: Session, ticket: Ticket) -> QueueRow:
    """One line of the queue."""
    query = select(Complaint).where(Complaint.ticket_id == ticket.id)
    if ticket.state == "open":
        query = query.where(Complaint.closed_at.is_(None))
    complaints = list(session.scalars(query.order_by(Complaint.opened_at, Complaint.id)))
    building = session.get(Building, ticket.building_id) if ticket.building_id else None
    first = next(iter(ticket.picture["suspects"]), None)
    return QueueRow(
        ticket=ticket.id,
        reference=reference(ticket.id),
        building=ticket.building_id or "",
        building_name=str(building.document["name"]) if building is not None else UNPLACED,
        timezone=zone_of(session, ticket.building_id),
        danger=ticket.danger,
        respond_by=ticket.respond_by,
        reason=ticket.because[0]["rule"] if ticket.because else "",
        homes=tuple(sorted({c.apartment for c in complaints if c.apartment is not None})),
        kinds=tuple(sorted({str(k) for c in complaints for k in c.kinds})),
        first_suspect=first["says"] if first else None,
        first_component=first["component"] if first else None,
        probability=first["probability"] if first else None,
        unknown=ticket.picture["unknown"],
        opened_at=ticket.opened_at,
        state=ticket.state,
        unconfirmed=tuple(sorted({str(c.apartment) for c in complaints if _is_doubtful(c)})),
    )


def _is_doubtful(complaint: Complaint) -> bool:
    return complaint.apartment is not None and not complaint.confirmed
