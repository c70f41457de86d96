"""What was repaired is shared: other open reports of homes that live by it end with it.

They stood on tickets of their own, where nobody knew yet that they had this cause. Their households
are told and asked as all others; who has another trouble says so, and is open again. What was reported
long before the first home of the ticket wrote is another trouble, and stays.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.diagnosis.after_work import shared_by
from rules.diagnosis.moment import is_gap
from rules.model import ApartmentId
from rules.plant import Plant
from service.store.tables import Complaint, Ticket
from service.usecases.rows.ticket_rows import TAKEN_ALONG, move_complaints, open_complaints_of

__all__ = ["take_along"]


def take_along(
    session: Session, now: datetime, plant: Plant | None, ticket: Ticket, component: str | None
) -> None:
    """Bring reports of the same kinds, of homes that share the component, to its ticket."""
    homes = frozenset[ApartmentId]() if plant is None else shared_by(plant, component)
    repaired = open_complaints_of(session, ticket.id)
    kinds = {kind for own in repaired for kind in own.kinds}
    if not homes or not kinds:
        return
    began = min(own.since for own in repaired)
    others = session.execute(
        select(Complaint, Ticket)
        .join(Ticket, Ticket.id == Complaint.ticket_id)
        .where(Complaint.building_id == ticket.building_id, Complaint.closed_at.is_(None))
        .where(Complaint.ticket_id != ticket.id, Complaint.confirmed, Complaint.pinned.is_(False))
        .where(Ticket.alone.is_(False), Ticket.danger.is_(False))
        .order_by(Complaint.opened_at, Complaint.id)
    ).all()
    along = [
        complaint
        for complaint, _ticket in others
        if ApartmentId(str(complaint.apartment)) in homes
        and kinds.intersection(complaint.kinds)
        and not is_gap(complaint.since, began)
    ]
    move_complaints(session, now, ticket, along, TAKEN_ALONG)
