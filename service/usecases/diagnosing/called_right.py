"""Homes that have called a repair right while another says that it has not helped, as evidence.

A boiler from which one home is warm is not locked out for the other.
"""

from __future__ import annotations

from datetime import timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.model import ApartmentId, Evidence, Kind, NeighborSaid
from service.store.tables import Complaint, Ticket, TicketEvent

__all__ = ["called_right"]

# For so long before another home says that it is cold: what was right then may fail meanwhile (common
# practice, no source).
STILL_RIGHT = timedelta(hours=3)


def called_right(session: Session, building_id: str) -> tuple[Evidence, ...]:
    """What was said of tickets that are open again; of the time at which the last home wrote."""
    reports = session.scalars(
        select(Complaint).where(Complaint.building_id == building_id, Complaint.closed_at.is_(None))
    ).all()
    newest = max((c.since for c in reports if Kind.TOO_COLD.value in c.kinds), default=None)
    if newest is None:
        return ()
    rows = session.scalars(
        select(TicketEvent)
        .join(Ticket, Ticket.id == TicketEvent.ticket_id)
        .where(Ticket.building_id == building_id, Ticket.state == "open")
        .where(TicketEvent.what == "confirmed", TicketEvent.at >= newest - STILL_RIGHT)
        .order_by(TicketEvent.id)
    )
    found: dict[ApartmentId, Evidence] = {}
    for row in rows:
        complaint = session.get(Complaint, row.body["complaint"])
        if complaint is not None and _was_cold(complaint):
            home = ApartmentId(str(complaint.apartment))
            fact = NeighborSaid(home, home, Kind.TOO_COLD, same=False)
            found[home] = Evidence(f"confirmed:{row.id}", max(row.at, newest), fact)
    open_again = {str(c.apartment) for c in reports}
    return tuple(said for home, said in found.items() if str(home) not in open_again)


def _was_cold(complaint: Complaint) -> bool:
    is_known = complaint.apartment is not None and complaint.confirmed
    return is_known and Kind.TOO_COLD.value in complaint.kinds
