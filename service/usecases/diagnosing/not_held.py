"""A repair has not helped: the ticket is open again, with what is still true of what was measured.

The other homes that wait to be asked are asked now, not next morning: what one of them says tells
whether the repair failed or this home has a trouble of its own.
"""

from __future__ import annotations

from datetime import datetime
from typing import cast

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from rules.diagnosis.after_work import outlives, shared_by
from rules.model import Found
from service.store.tables import Closure, Complaint, FactRow, Ticket, TimerRow
from service.usecases.loading.plants import plant_of
from service.usecases.rows.complaint_rows import reopen_complaint, reopen_ticket
from service.usecases.rows.facts import AFTER, fact_in
from service.usecases.rows.pressing import zone_of
from service.usecases.rows.quiet_hours import awake_at

__all__ = ["last_closure", "open_again_after_work", "reopen_after_work"]


def last_closure(session: Session, ticket_id: str | None) -> Closure | None:
    """What was found and done on a ticket, the last time it was closed."""
    return session.scalars(
        select(Closure)
        .where(Closure.ticket_id == ticket_id)
        .order_by(Closure.closed_at.desc(), Closure.id.desc())
        .limit(1)
    ).first()


def reopen_after_work(
    session: Session, now: datetime, complaint: Complaint, *, source: str, at: datetime
) -> None:
    """Open a complaint and its ticket again; ``at`` is when it was told that it is not right."""
    ticket = session.get(Ticket, complaint.ticket_id) if complaint.ticket_id else None
    if ticket is not None and ticket.state == "closed":
        open_again_after_work(session, now, ticket, complaint)
    reopen_complaint(session, now, complaint, source=source, at=at)


def open_again_after_work(
    session: Session, now: datetime, ticket: Ticket, complaint: Complaint
) -> None:
    """Open a ticket again for one of its complaints, with the readings that are still true."""
    reopen_ticket(session, now, ticket, complaint)
    closure = last_closure(session, ticket.id)
    if closure is None:
        return
    _let_readings_count(session, ticket, closure)
    plant = plant_of(session, ticket.building_id)
    if plant is not None and shared_by(plant, closure.component):
        _ask_others(session, now, ticket, complaint)


def _let_readings_count(session: Session, ticket: Ticket, closure: Closure) -> None:
    """Readings that ended with the closing are evidence again, but those of the part worked on."""
    rows = session.scalars(
        select(FactRow)
        .where(FactRow.ticket_id == ticket.id, FactRow.withdrawn_at == closure.closed_at)
        .where(FactRow.source != f"{AFTER}:{ticket.id}")
    )
    for row in rows:
        if outlives(cast("Found", fact_in(row)), closure.fault, closure.component):
            row.withdrawn_at = None
    session.flush()


def _ask_others(session: Session, now: datetime, ticket: Ticket, complaint: Complaint) -> None:
    waiting = select(Complaint.id).where(
        Complaint.ticket_id == ticket.id,
        Complaint.id != complaint.id,
        Complaint.closed_at.is_not(None),
    )
    session.execute(
        update(TimerRow)
        .where(TimerRow.purpose == "repair_check", TimerRow.done_at.is_(None))
        .where(TimerRow.complaint_id.in_(waiting), TimerRow.due_at > now)
        .values(due_at=awake_at(now, zone_of(session, ticket.building_id)))
    )
