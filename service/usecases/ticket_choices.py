"""What a person can act on from a ticket's page: its complaints, and other tickets nearby."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import Complaint, Ticket
from service.usecases.act_views import ComplaintLine, OtherTicket
from service.usecases.ids import reference

__all__ = ["complaint_lines", "other_tickets"]


def complaint_lines(complaints: Iterable[Complaint]) -> tuple[ComplaintLine, ...]:
    """The complaints as pages show them."""
    return tuple(
        ComplaintLine(
            complaint=row.id,
            apartment=row.apartment,
            kinds=tuple(sorted(str(k) for k in row.kinds)),
            opened_at=row.opened_at,
            pinned=row.pinned,
            confirmed=row.confirmed,
            danger=bool(row.danger),
            taken_over_by=row.taken_over_by,
        )
        for row in complaints
    )


def other_tickets(session: Session, ticket: Ticket) -> tuple[OtherTicket, ...]:
    """Other open tickets of the building, without dangers, oldest first."""
    if ticket.building_id is None or ticket.state != "open" or ticket.danger:
        return ()
    homes: dict[str, set[str]] = {}
    rows = session.execute(
        select(Complaint.ticket_id, Complaint.apartment).where(
            Complaint.building_id == ticket.building_id, Complaint.closed_at.is_(None)
        )
    )
    for ticket_id, apartment in rows:
        homes.setdefault(str(ticket_id), set()).add(str(apartment))
    others = session.execute(
        select(Ticket.id, Ticket.picture["suspects"][0]["says"].as_string())
        .where(Ticket.building_id == ticket.building_id, Ticket.state == "open")
        .where(Ticket.id != ticket.id, Ticket.danger.is_(False))
        .order_by(Ticket.opened_at, Ticket.id)
    )
    return tuple(
        OtherTicket(other, reference(other), tuple(sorted(homes.get(other, ()))), says)
        for other, says in others
    )
