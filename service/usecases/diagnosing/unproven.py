"""A repair did not hold for one home: what the others of its ticket had told is still the story.

They have not said that it is right, and are asked at once. Until they do, their reports from before
the repair are evidence beside the one that says no: a loop that was cold this morning is cold, not a
home.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import Closure, Complaint, FactRow, Ticket
from service.usecases.rows.carried_over import waits_for_proof

__all__ = ["facts_of_unproven"]


def facts_of_unproven(session: Session, now: datetime, building_id: str) -> list[FactRow]:
    """Facts of reports that a closing has ended, on tickets that are open again."""
    rows = session.execute(
        select(FactRow, Complaint)
        .join(Complaint, Complaint.id == FactRow.complaint_id)
        .join(Ticket, Ticket.id == Complaint.ticket_id)
        .join(Closure, Closure.ticket_id == Ticket.id)
        .where(Complaint.building_id == building_id, Complaint.outcome == "fixed")
        .where(Ticket.state == "open", Closure.closed_at == Complaint.closed_at)
        .where(Closure.fault.is_not(None), FactRow.withdrawn_at == Complaint.closed_at)
        .order_by(FactRow.at, FactRow.id)
    )
    return [fact for fact, complaint in rows if waits_for_proof(session, now, complaint)]
