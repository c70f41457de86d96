"""Changes to ticket rows, each with its line of history."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import func, select, update
from sqlalchemy.orm import Session

from rules.diagnosis import Group
from service.store.tables import Complaint, FactRow, Ticket, TicketEvent
from service.usecases.ids import new_id, reference
from service.usecases.picture import EMPTY_PICTURE, picture_of
from service.usecases.pressing import Scene, because_json, press

__all__ = [
    "close_emptied",
    "move_complaints",
    "open_complaints_of",
    "open_ticket",
    "record_event",
    "refresh_ticket",
]

UNPLACED = "unknown"  # the component of a ticket whose home we do not know yet


def record_event(
    session: Session, now: datetime, ticket_id: str, what: str, body: dict[str, Any]
) -> None:
    """Add a line to the history of a ticket."""
    session.add(TicketEvent(ticket_id=ticket_id, at=now, what=what, body=body))


def open_ticket(session: Session, now: datetime, building_id: str | None) -> Ticket:
    """A new ticket without complaints; the caller moves them in and refreshes it."""
    ticket = Ticket(
        id=_free_id(session),
        building_id=building_id,
        scope="apartment",
        component=UNPLACED,
        state="open",
        danger=False,
        opened_at=now,
        respond_by=now,
        because=[],
        picture=EMPTY_PICTURE,
        version=1,
    )
    session.add(ticket)
    session.flush()
    record_event(session, now, ticket.id, "opened", {})
    return ticket


def move_complaints(
    session: Session, now: datetime, ticket: Ticket, complaints: Sequence[Complaint]
) -> None:
    """Bring complaints to a ticket; tickets left without any are closed as merged into it."""
    for complaint in complaints:
        before = complaint.ticket_id
        if before == ticket.id or (complaint.pinned and before is not None):
            continue
        complaint.ticket_id = ticket.id
        session.flush()
        record_event(session, now, ticket.id, "joined", {"complaint": complaint.id, "from": before})
        if before is not None:
            left = {"complaint": complaint.id, "to": ticket.id}
            record_event(session, now, before, "left", left)
            _close_if_merged(session, now, before, ticket)


def refresh_ticket(session: Session, scene: Scene, ticket: Ticket, group: Group | None) -> None:
    """Write what the diagnosis and the urgency rules say now."""
    complaints = open_complaints_of(session, ticket.id)
    if not complaints:
        return
    before = _shown(ticket)
    if group is not None and scene.diagnosis is not None:
        ticket.scope = group.scope
        ticket.component = str(group.component)
        ticket.picture = picture_of(scene.diagnosis, group)
    elif scene.diagnosis is not None or not ticket.picture["suspects"]:
        ticket.scope = "apartment"
        ticket.component = complaints[0].apartment or UNPLACED
        ticket.picture = EMPTY_PICTURE
    _press(session, scene, ticket, complaints)
    if _shown(ticket) != before:
        ticket.version += 1


def _press(session: Session, scene: Scene, ticket: Ticket, complaints: Sequence[Complaint]) -> None:
    """Set the respond-by time. What is overdue stays overdue: asking again does not put it off."""
    is_new = not ticket.because
    turns_dangerous = not ticket.danger and any(c.danger for c in complaints)
    ticket.danger = any(c.danger for c in complaints)
    found = press(session, scene, ticket, complaints)
    overdue = not is_new and ticket.respond_by <= min(scene.now, found.at)
    if not overdue or turns_dangerous:
        ticket.because = because_json(found)
    if overdue:
        return
    if found.at < ticket.respond_by and not is_new:
        body = {"from": ticket.respond_by.isoformat(), "to": found.at.isoformat()}
        record_event(session, scene.now, ticket.id, "respond_by", body)
    ticket.respond_by = found.at


def open_complaints_of(session: Session, ticket_id: str) -> list[Complaint]:
    """The open complaints a ticket covers, oldest first."""
    return list(
        session.scalars(
            select(Complaint)
            .where(Complaint.ticket_id == ticket_id, Complaint.closed_at.is_(None))
            .order_by(Complaint.opened_at, Complaint.id)
        )
    )


def close_emptied(session: Session, now: datetime, ticket: Ticket, why: str) -> bool:
    """Close a ticket whose last complaint has ended by itself; a danger waits for a person."""
    if ticket.state != "open" or ticket.danger or open_complaints_of(session, ticket.id):
        return False
    ticket.state = "closed"
    ticket.closed_at = now
    ticket.version += 1
    record_event(session, now, ticket.id, "closed", {"why": why})
    return True


def _shown(ticket: Ticket) -> tuple[Any, ...]:
    return (ticket.because, ticket.respond_by, ticket.scope, ticket.component, ticket.picture)


def _close_if_merged(session: Session, now: datetime, ticket_id: str, into: Ticket) -> None:
    if open_complaints_of(session, ticket_id):
        return
    ticket = session.get_one(Ticket, ticket_id)
    if ticket.state != "open":
        return
    ticket.state = "closed"
    ticket.closed_at = now
    ticket.merged_into = into.id
    ticket.version += 1
    says = f"joined {reference(into.id)}"
    record_event(session, now, ticket.id, "merged", {"into": into.id, "says": says})
    # What a technician has measured goes where the work goes on.
    session.execute(update(FactRow).where(FactRow.ticket_id == ticket.id).values(ticket_id=into.id))


def _free_id(session: Session) -> str:
    """An id whose short form no open ticket has."""
    while True:
        candidate = new_id("t")
        taken = session.scalar(
            select(func.count())
            .select_from(Ticket)
            .where(Ticket.id.startswith(candidate[:6]), Ticket.state == "open")
        )
        if not taken:
            return candidate
