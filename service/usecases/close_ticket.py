"""Close a ticket: what it was, what was fitted; next morning the household is asked about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from rules.asking.conversation import Conversation, State
from rules.faults.catalogue import faults, named_only, parts
from rules.model import ComponentId, PartId
from rules.plant import Plant
from service.errors import ConflictError, InvalidError, PointedError
from service.store.tables import (
    Closure,
    Complaint,
    FactRow,
    Install,
    NumberRow,
    Ticket,
    TimerRow,
)
from service.usecases.complaint_rows import end_complaint
from service.usecases.plants import plant_of
from service.usecases.pressing import zone_of
from service.usecases.record_finding import ticket_row
from service.usecases.rediagnose import rediagnose_if_possible
from service.usecases.ticket_rows import open_complaints_of, record_event

__all__ = ["Closing", "close_ticket"]

# After a night everybody knows whether the heat is right (common practice, no source).
ASK_AT = time(9, 0)
UNKNOWN_COMPONENT = "unknown"
LONGEST_NOTE = 2_000
MOST_PARTS = 50


@dataclass(frozen=True, slots=True)
class Closing:
    """What the technician says. No fault: nothing was found, or something that has no name here."""

    fault: str | None
    component: str | None
    parts: tuple[tuple[str, int], ...] = ()
    installed_on: date | None = None
    note: str = ""


def close_ticket(session: Session, now: datetime, ticket_id: str, closing: Closing) -> Ticket:
    """Close the ticket and its complaints.

    Raises:
        NotFoundError: there is no such ticket.
        ConflictError: it is closed already.
        InvalidError: unknown fault, component or part.
    """
    ticket = ticket_row(session, ticket_id)
    if ticket.state != "open":
        raise ConflictError("the ticket is closed already")
    zone = zone_of(session, ticket.building_id)
    _check(session, now, zone, ticket, closing)
    closure = _store(session, now, ticket, closing, zone)
    complaints = open_complaints_of(session, ticket.id)
    for complaint in complaints:
        end_complaint(session, now, complaint, "fixed")
        _ask_later(session, now, complaint, zone, closure)
    _withdraw_findings(session, now, ticket)
    ticket.state = "closed"
    ticket.closed_at = now
    ticket.version += 1
    body = {"fault": closing.fault, "component": closing.component, "note": closure.note}
    record_event(session, now, ticket.id, "closed", body)
    session.flush()
    rediagnose_if_possible(session, now, ticket.building_id)
    return ticket


def _check(session: Session, now: datetime, zone: str, ticket: Ticket, closing: Closing) -> None:
    wrong = []
    if closing.fault is not None and closing.fault not in {*faults(), *named_only()}:
        wrong.append(PointedError("/fault", f"there is no fault {closing.fault!r}"))
    plant = plant_of(session, ticket.building_id)
    if closing.component is not None and plant is not None:
        wrong += _check_component(plant, closing.component)
    wrong += [
        PointedError(f"/parts/{n}/part", f"there is no part {part!r}")
        for n, (part, _) in enumerate(closing.parts)
        if PartId(part) not in parts()
    ]
    # Today by the building's calendar or by UTC, whichever is later: both are "today" to somebody.
    today = max(now.astimezone(ZoneInfo(zone)).date(), now.astimezone(UTC).date())
    if closing.installed_on is not None and closing.installed_on > today:
        wrong.append(PointedError("/installed", "lies in the future"))
    if wrong:
        raise InvalidError("the closing is refused", wrong)


def _check_component(plant: Plant, component: str) -> list[PointedError]:
    if ComponentId(component) in plant.components:
        return []
    return [PointedError("/component", f"the building has no component {component!r}")]


def _store(session: Session, now: datetime, ticket: Ticket, closing: Closing, zone: str) -> Closure:
    closure = Closure(
        ticket_id=ticket.id,
        fault=closing.fault,
        component=closing.component,
        parts=[{"part": part, "quantity": quantity} for part, quantity in closing.parts],
        installed_on=closing.installed_on,
        note=closing.note[:LONGEST_NOTE],
        closed_at=now,
    )
    session.add(closure)
    installed_on = closing.installed_on or now.astimezone(ZoneInfo(zone)).date()
    session.add_all(_installs(ticket, closing, installed_on))
    session.flush()
    return closure


def _installs(ticket: Ticket, closing: Closing, installed_on: date) -> Sequence[Install]:
    return [
        Install(
            building_id=ticket.building_id,
            component=closing.component or UNKNOWN_COMPONENT,
            part=part,
            installed_on=installed_on,
            ticket_id=ticket.id,
        )
        for part, _quantity in closing.parts
    ]


def _ask_later(
    session: Session, now: datetime, complaint: Complaint, zone: str, closure: Closure
) -> None:
    """End the conversation quietly and set the question for the next morning."""
    session.execute(
        update(TimerRow)
        .where(TimerRow.complaint_id == complaint.id, TimerRow.done_at.is_(None))
        .values(done_at=now)
    )
    number = session.get(NumberRow, complaint.number)
    if number is not None and number.conversation is not None:
        conversation = Conversation.from_dict(number.conversation)
        if conversation.state is not State.STOPPED:
            ended = replace(
                conversation,
                state=State.CLOSED,
                asked=(),
                current=None,
                homes=(),
                reminded=False,
                repeats=0,
            )
            number.conversation = ended.to_dict()
    session.add(
        TimerRow(
            purpose="repair_check",
            key=f"repair_check:{closure.id}:{complaint.id}",
            due_at=_next_morning(now, zone),
            number=complaint.number,
            complaint_id=complaint.id,
            body={},
            attempts=0,
        )
    )


def _next_morning(now: datetime, zone: str) -> datetime:
    local = now.astimezone(ZoneInfo(zone))
    tomorrow = local.date() + timedelta(days=1)
    return datetime.combine(tomorrow, ASK_AT, tzinfo=ZoneInfo(zone)).astimezone(now.tzinfo)


def _withdraw_findings(session: Session, now: datetime, ticket: Ticket) -> None:
    for row in session.scalars(select(FactRow).where(FactRow.ticket_id == ticket.id)):
        if row.withdrawn_at is None:
            row.withdrawn_at = now
