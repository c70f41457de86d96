"""What has changed at the desk since somebody last looked: cheap enough to ask once a second.

The stamp is made of counters that only grow (history, texts in, texts out, the sum of versions) and
of what is open now; while it stays the same nothing on a desk page can have changed but the age of
things.
"""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from service.store.tables import (
    Alert,
    Complaint,
    InboxMessage,
    OutboxMessage,
    Ticket,
    TicketEvent,
)

__all__ = ["DeskState", "desk_stamp", "desk_state", "talked_since"]


@dataclass(frozen=True, slots=True)
class DeskState:
    """The open tickets with their versions, and how far texts and history have come."""

    stamp: str
    versions: dict[str, int]
    last_in: int
    last_out: int
    last_event: int
    alerts: int


def desk_stamp(session: Session) -> str:
    """A text that differs whenever something on a desk page may have changed."""
    open_now = Ticket.state == "open"
    counters = session.execute(
        select(
            select(func.max(TicketEvent.id)).scalar_subquery(),
            select(func.max(InboxMessage.seq)).scalar_subquery(),
            select(func.max(OutboxMessage.id)).scalar_subquery(),
            select(func.max(Alert.id)).scalar_subquery(),
            select(func.count())
            .select_from(Alert)
            .where(Alert.acknowledged_at.is_(None))
            .scalar_subquery(),
            select(func.count()).where(open_now).select_from(Ticket).scalar_subquery(),
            select(func.sum(Ticket.version)).where(open_now).scalar_subquery(),
            select(func.count())
            .select_from(InboxMessage)
            .where(InboxMessage.state != "read")
            .scalar_subquery(),
        )
    ).one()
    return "-".join(str(counter or 0) for counter in counters)


def desk_state(session: Session) -> DeskState:
    """The state to compare the next one with."""
    stamp = desk_stamp(session)
    rows = session.execute(select(Ticket.id, Ticket.version).where(Ticket.state == "open"))
    event, last_in, last_out, _, alerts = (int(part) for part in stamp.split("-")[:5])
    return DeskState(
        stamp=stamp,
        versions={str(ticket): version for ticket, version in rows},
        last_in=last_in,
        last_out=last_out,
        last_event=event,
        alerts=alerts,
    )


def talked_since(session: Session, before: DeskState) -> frozenset[str]:
    """Tickets whose history or conversations have a new line."""
    written = (
        select(Complaint.ticket_id)
        .join(OutboxMessage, OutboxMessage.complaint_id == Complaint.id)
        .where(OutboxMessage.id > before.last_out)
    )
    heard = (
        select(Complaint.ticket_id)
        .join(InboxMessage, InboxMessage.complaint_id == Complaint.id)
        .where(InboxMessage.seq > before.last_in)
    )
    noted = select(TicketEvent.ticket_id).where(TicketEvent.id > before.last_event)
    found = (row for query in (written, heard, noted) for row in session.scalars(query))
    return frozenset(str(ticket) for ticket in found if ticket is not None)
