"""Changes to ticket rows, each with its line of history."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import func, select, update
from sqlalchemy.orm import Session

from rules.diagnosis import Group
from rules.urgency import RespondBy
from service.store.tables import Complaint, FactRow, Ticket, TicketEvent
from service.usecases.rows.ids import new_id, reference
from service.usecases.rows.picture import EMPTY_PICTURE, picture_of_several
from service.usecases.rows.pressing import Scene, because_json, press

__all__ = [
    "TAKEN_ALONG",
    "Move",
    "close_emptied",
    "lift_hold",
    "move_complaints",
    "open_complaints_of",
    "open_ticket",
    "record_event",
    "refresh_ticket",
]

# Why a report has come to a ticket when that was closed.
TAKEN_ALONG = "lives by what was repaired"
UNPLACED = "unknown"  # the component of a ticket whose home we do not know yet


@dataclass(frozen=True, slots=True)
class Move:
    """A complaint that has come to a ticket."""

    complaint: str
    home: str | None
    was_on: str | None
    to: str
    why: str


def record_event(
    session: Session, now: datetime, ticket_id: str, what: str, body: dict[str, Any]
) -> None:
    """Add a line to the history of a ticket."""
    session.add(TicketEvent(ticket_id=ticket_id, at=now, what=what, body=body))


def open_ticket(
    session: Session, now: datetime, building_id: str | None, since: datetime | None = None
) -> Ticket:
    """A new ticket without complaints; the caller moves them in and refreshes it.

    ``since`` is when its complaints were first heard of, from which times by law are counted.
    """
    ticket = Ticket(
        id=_free_id(session),
        building_id=building_id,
        scope="apartment",
        component=UNPLACED,
        state="open",
        danger=False,
        opened_at=since or now,
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
    session: Session,
    now: datetime,
    ticket: Ticket,
    complaints: Sequence[Complaint],
    why: str = "",
) -> list[Move]:
    """Bring complaints to a ticket; tickets left without any are closed as merged into it.

    ``why`` is said in the history of both. A pinned complaint stays where it is.
    """
    moves = []
    for complaint in complaints:
        before = complaint.ticket_id
        if before == ticket.id or (complaint.pinned and before is not None):
            continue
        complaint.ticket_id = ticket.id
        session.flush()
        moves.append(Move(complaint.id, complaint.apartment, before, ticket.id, why))
        said = {"complaint": complaint.id, "home": complaint.apartment, "why": why}
        record_event(session, now, ticket.id, "joined", {**said, "from": before})
        if before is not None:
            record_event(session, now, before, "left", {**said, "to": ticket.id})
            _close_if_merged(session, now, before, ticket)
    return moves


def refresh_ticket(
    session: Session, scene: Scene, ticket: Ticket, groups: Sequence[tuple[Group, int]]
) -> None:
    """Write what the diagnosis and the urgency rules say now.

    ``groups`` are those of the ticket's homes, each with how many of them; more than one where a
    person has put them together.
    """
    complaints = open_complaints_of(session, ticket.id)
    if not complaints:
        return
    before = _shown(ticket)
    if groups and scene.diagnosis is not None:
        leading = max(groups, key=lambda pair: pair[1])[0]
        ticket.scope = leading.scope
        ticket.component = str(leading.component)
        ticket.picture = picture_of_several(scene.diagnosis, groups)
    elif scene.diagnosis is not None or not ticket.picture["suspects"]:
        ticket.scope = "apartment"
        ticket.component = complaints[0].apartment or UNPLACED
        ticket.picture = EMPTY_PICTURE
    _press(session, scene, ticket, complaints)
    if _shown(ticket) != before:
        ticket.version += 1


def _press(session: Session, scene: Scene, ticket: Ticket, complaints: Sequence[Complaint]) -> None:
    """Set the respond-by time. What is overdue stays overdue: asking again does not put it off.

    But a time from before any of its reports was opened, or opened again, is of reports that have ended.
    """
    first = min(c.since for c in complaints).replace(second=0, microsecond=0)
    is_new = not ticket.because or ticket.respond_by < first
    turns_dangerous = not ticket.danger and any(c.danger for c in complaints)
    ticket.danger = any(c.danger for c in complaints)
    found = press(session, scene, ticket, complaints)
    if ticket.respond_by_set is not None and _as_a_person_said(ticket, found):
        return
    overdue = not is_new and ticket.respond_by <= min(scene.now, found.at)
    if overdue and not turns_dangerous:
        ticket.because = _still_due(ticket, scene.now, found)
    else:
        ticket.because = because_json(found)
    if overdue:
        return
    if found.at < ticket.respond_by and not is_new:
        body = {"from": ticket.respond_by.isoformat(), "to": found.at.isoformat()}
        record_event(session, scene.now, ticket.id, "respond_by", body)
    ticket.respond_by = found.at


def _still_due(ticket: Ticket, now: datetime, found: RespondBy) -> list[Any]:
    """Why an overdue ticket is due: what holds now, since when it does, and what made it due."""
    since = {b["rule"]: b["at"] for b in ticket.because}
    today = [{**b, "at": _earlier(b["at"], since.get(b["rule"]))} for b in because_json(found)]
    if _explains(ticket, today):
        return today
    rules = {b["rule"] for b in today}
    past = [b for b in ticket.because if b["rule"] not in rules and _explains(ticket, [b])]
    return today + past if found.at <= now else past + today


def _earlier(at: str, known: str | None) -> str:
    return at if known is None else min(at, known, key=datetime.fromisoformat)


def _explains(ticket: Ticket, because: Sequence[Any]) -> bool:
    return any(datetime.fromisoformat(b["at"]) <= ticket.respond_by for b in because)


def _as_a_person_said(ticket: Ticket, found: RespondBy) -> bool:
    """Take the time a person has set, its reason first; not when a danger's own time is earlier."""
    said = ticket.respond_by_set or {}
    at = datetime.fromisoformat(said["at"])
    if found.danger and found.at < at:
        return False
    first = {"rule": said["reason"], "source": f"set by {said['by']}", "at": said["at"]}
    ticket.because = [first, *because_json(found)]
    ticket.respond_by = at
    return True


def lift_hold(session: Session, now: datetime, ticket: Ticket) -> None:
    """A danger is reported: nothing about it waits."""
    if ticket.held_until is None:
        return
    ticket.held_until, ticket.hold_reason = None, None
    ticket.version += 1
    record_event(session, now, ticket.id, "hold_lifted", {})


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
