"""A repair did not hold for one home: what the others of its ticket had told is still the story.

They have not said that it is right, and are asked at once. Until they do, their reports from before
the repair are evidence beside the one that says no: a loop that was cold this morning is cold, not a
home. Once one of them has called it right, what was repaired works, and the others' silence is that of
homes that warm up; nor is it their story that a home goes on with which had a ticket of its own before,
and came along only because it lives by the repaired part.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import Closure, Complaint, FactRow, Ticket, TicketEvent
from service.usecases.rows.carried_over import waits_for_proof
from service.usecases.rows.ticket_rows import TAKEN_ALONG, open_complaints_of

__all__ = ["facts_of_unproven"]


def facts_of_unproven(session: Session, now: datetime, building_id: str) -> list[FactRow]:
    """Facts of reports that a closing has ended, on tickets that are open again."""
    rows = session.execute(
        select(FactRow, Complaint, Closure)
        .join(Complaint, Complaint.id == FactRow.complaint_id)
        .join(Ticket, Ticket.id == Complaint.ticket_id)
        .join(Closure, Closure.ticket_id == Ticket.id)
        .where(Complaint.building_id == building_id, Complaint.outcome == "fixed")
        .where(Ticket.state == "open", Closure.closed_at == Complaint.closed_at)
        .where(Closure.fault.is_not(None), FactRow.withdrawn_at == Complaint.closed_at)
        .order_by(FactRow.at, FactRow.id)
    ).all()
    told_of = {closure.id: _is_their_story(session, closure) for _, _, closure in rows}
    return [
        fact
        for fact, complaint, closure in rows
        if told_of[closure.id] and waits_for_proof(session, now, complaint)
    ]


def _is_their_story(session: Session, closure: Closure) -> bool:
    """Whether who is open again on its ticket may have what the others had told of."""
    events = session.scalars(
        select(TicketEvent)
        .where(TicketEvent.ticket_id == closure.ticket_id, TicketEvent.at >= closure.closed_at)
        .where(TicketEvent.what.in_(("confirmed", "joined")))
    ).all()
    if any(event.what == "confirmed" for event in events):
        return False
    along = {event.body["complaint"] for event in events if event.body.get("why") == TAKEN_ALONG}
    return any(c.id not in along for c in open_complaints_of(session, closure.ticket_id))
