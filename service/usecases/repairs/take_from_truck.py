"""Take what a technician entered without signal: once, in the order of arrival, and never lost.

What no longer fits (the ticket was closed meanwhile, the reading is none that an instrument shows) is
kept aside with the reason in words, in the ticket's history and for the phone that sent it.
"""

from __future__ import annotations

import base64
import binascii
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.auth.who import Who
from service.errors import ConflictError, InvalidError
from service.store.tables import Ticket, TruckArrival
from service.usecases.diagnosing.record_finding import Finding, record_finding, ticket_row
from service.usecases.repairs.repair_photos import add_photos, made_anew
from service.usecases.rows.audit import note_act
from service.usecases.rows.ids import reference
from service.usecases.rows.ticket_rows import record_event

__all__ = ["Arrival", "Taken", "arrived_for", "take_from_truck", "write_note"]

Kind = Literal["reading", "note", "photo"]
LONGEST_NOTE = 2_000


@dataclass(frozen=True, slots=True)
class Arrival:
    """One entry of a phone. ``id`` is the phone's own, ``entered_at`` by its clock.

    ``body`` is ``{check, component, value, unit, calling, outcome}``, ``{text}`` or
    ``{picture}`` (base64).
    """

    id: str
    ticket: str
    kind: Kind
    body: Mapping[str, Any]
    entered_at: datetime


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of an entry; ``ticket`` is where it is now, None if there never was one."""

    id: str
    state: Literal["taken", "aside"]
    says: str
    ticket: str | None
    duplicate: bool = False


def take_from_truck(session: Session, now: datetime, who: Who, arrival: Arrival) -> Taken:
    """Store an entry and let it have its effect; the second time it only answers again."""
    known = session.get(TruckArrival, arrival.id)
    if known is not None:
        return _told(known, duplicate=True)
    sent_for = session.get(Ticket, arrival.ticket)
    ticket = None if sent_for is None else _current(session, sent_for)
    state, says = _take(session, now, who, arrival, (sent_for, ticket))
    if ticket is not None and state == "aside":
        body = {"kind": arrival.kind, "why": says, "body": _kept(arrival)}
        record_event(session, now, ticket.id, "kept_aside", body)
    row = TruckArrival(
        id=arrival.id,
        ticket_id=ticket.id if ticket is not None else None,
        kind=arrival.kind,
        body=_kept(arrival),
        entered_at=arrival.entered_at,
        arrived_at=now,
        account=who.account,
        state=state,
        says=says,
    )
    session.add(row)
    subject = ticket.id if ticket is not None else "t_unknown"
    note_act(
        session, now, who, f"{arrival.kind} from the truck {state}", subject, {"id": arrival.id}
    )
    session.flush()
    return _told(row, duplicate=False)


def write_note(session: Session, now: datetime, who: Who, ticket_id: str, text: str) -> None:
    """Keep a technician's note in the history of a ticket, closed or not.

    Raises:
        NotFoundError: there is no such ticket.
        InvalidError: the note is empty.
    """
    ticket = ticket_row(session, ticket_id)
    text = text.strip()[:LONGEST_NOTE]
    if not text:
        raise InvalidError("the note is empty")
    record_event(session, now, ticket.id, "note", {"text": text})
    note_act(session, now, who, "note written", ticket.id, {})


def arrived_for(session: Session, ticket_id: str) -> tuple[str, ...]:
    """The phone's ids of readings that already count in this ticket's diagnosis."""
    rows = session.scalars(
        select(TruckArrival.id).where(
            TruckArrival.ticket_id == ticket_id,
            TruckArrival.kind == "reading",
            TruckArrival.state == "taken",
        )
    )
    return tuple(sorted(rows))


def _take(
    session: Session,
    now: datetime,
    who: Who,
    arrival: Arrival,
    tickets: tuple[Ticket | None, Ticket | None],
) -> tuple[Literal["taken", "aside"], str]:
    """What becomes of an entry, and in words; ``tickets`` are the one meant and where it is now."""
    sent_for, ticket = tickets
    if ticket is None or sent_for is None:
        return "aside", "There is no such ticket any more. What you entered is kept at the office."
    moved = ticket.id != sent_for.id
    where = (
        f"{reference(sent_for.id)} was joined to {reference(ticket.id)}; it is there now."
        if moved
        else ""
    )
    try:
        if arrival.kind == "reading":
            record_finding(session, now, ticket.id, _finding(arrival.body))
        else:
            _keep(session, now, who, arrival, ticket)
    except ConflictError:
        return "aside", (
            f"{reference(ticket.id)} was closed meanwhile. What you entered is kept in its history."
        )
    except InvalidError as refused:
        detail = refused.errors[0].detail if refused.errors else refused.message
        return "aside", f"Kept, but not weighed: this {detail}."
    return "taken", where or "Taken."


def _keep(session: Session, now: datetime, who: Who, arrival: Arrival, ticket: Ticket) -> None:
    """A note or a photo; both are welcome on a closed ticket too."""
    if arrival.kind == "note":
        write_note(session, now, who, ticket.id, str(arrival.body.get("text", "")))
        return
    picture = made_anew(_bytes(arrival.body.get("picture")))
    if picture is None:
        raise InvalidError("file is no photo that can be read")
    add_photos(session, now, ticket.id, None, [picture])
    record_event(session, now, ticket.id, "truck_photo", {})


def _finding(body: Mapping[str, Any]) -> Finding:
    value, calling = body.get("value"), body.get("calling")
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return Finding(
        check=str(body.get("check", "")),
        component=str(body.get("component", "")),
        value=float(value) if number and value is not None else None,
        unit=None if body.get("unit") is None else str(body["unit"])[:12],
        calling=calling if isinstance(calling, bool) else None,
        outcome=None if body.get("outcome") is None else str(body["outcome"])[:100],
    )


def _bytes(encoded: Any) -> bytes:
    try:
        return base64.b64decode(str(encoded or ""), validate=True)
    except (binascii.Error, ValueError):
        return b""


def _kept(arrival: Arrival) -> dict[str, Any]:
    return {name: value for name, value in arrival.body.items() if name != "picture"}


def _current(session: Session, ticket: Ticket) -> Ticket:
    """The ticket, or the one it was joined to."""
    while ticket.merged_into is not None:
        ticket = session.get_one(Ticket, ticket.merged_into)
    return ticket


def _told(row: TruckArrival, *, duplicate: bool) -> Taken:
    state: Literal["taken", "aside"] = "taken" if row.state == "taken" else "aside"
    return Taken(row.id, state, row.says, row.ticket_id, duplicate)
