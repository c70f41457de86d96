"""The queue of tickets, most pressing first; a handful of queries however many there are."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Row, func, or_, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from service.store.tables import Building, Complaint, InboxMessage, Ticket
from service.usecases.rows.alerts import open_alerts
from service.usecases.rows.ids import reference
from service.usecases.rows.pressing import zone_of
from service.usecases.rows.views import QueueRow, QueueView
from service.usecases.staff.reveal_number import ends_in

__all__ = ["queue_row", "queue_view", "show_queue"]

UNPLACED = "Home not known yet"

# Of the picture only what a row shows: the whole of it, with checks and reasons, is long.
_FIRST = Ticket.picture["suspects"][0]
_COLUMNS = (
    Ticket.id,
    Ticket.building_id,
    Ticket.danger,
    Ticket.respond_by,
    Ticket.because[0]["rule"].as_string().label("reason"),
    _FIRST["says"].as_string().label("says"),
    _FIRST["component"].as_string().label("component"),
    _FIRST["probability"].as_float().label("of_fault"),
    Ticket.picture["by_component"][0]["probability"].as_float().label("probability"),
    Ticket.picture["unknown"].as_float().label("unknown"),
    Ticket.opened_at,
    Ticket.state,
    Ticket.version,
    Ticket.assigned_to,
    Ticket.held_until,
    Ticket.hold_reason,
    Ticket.merged_into,
)


def show_queue(
    session: Session, now: datetime, *, state: str = "open", building: str | None = None
) -> QueueView:
    """Tickets in the order in which to act; those on hold come last."""
    wanted = [Ticket.state == state]
    if building:
        wanted.append(Ticket.building_id == building)
    held = Ticket.held_until.is_not(None)
    order = (Ticket.danger.desc(), held, Ticket.respond_by, Ticket.opened_at, Ticket.id)
    return queue_view(session, now, _queue_rows(session, wanted, order))


def queue_view(session: Session, now: datetime, rows: tuple[QueueRow, ...]) -> QueueView:
    """These rows with what stands beside them: alerts, texts that nobody has read."""
    unread = session.scalar(
        select(func.count()).select_from(InboxMessage).where(InboxMessage.state != "read")
    )
    zone = rows[0].timezone if rows else zone_of(session, None)
    return QueueView(now, rows, unread or 0, open_alerts(session), zone)


def queue_row(session: Session, ticket: Ticket) -> QueueRow:
    """One line of the queue."""
    session.flush()
    return _queue_rows(session, [Ticket.id == ticket.id])[0]


def _queue_rows(
    session: Session,
    wanted: Sequence[ColumnElement[bool]],
    order: Sequence[ColumnElement[Any] | InstrumentedAttribute[Any]] = (),
) -> tuple[QueueRow, ...]:
    tickets = session.execute(select(*_COLUMNS).where(*wanted).order_by(*order)).all()
    complaints = _complaints(session, wanted)
    places = _places(session, {t.building_id for t in tickets})
    return tuple(_queue_row(t, complaints.get(t.id, []), places[t.building_id]) for t in tickets)


def _complaints(
    session: Session, wanted: Sequence[ColumnElement[bool]]
) -> dict[str, list[Row[Any]]]:
    """The complaints of each ticket; of an open one those that are open."""
    rows = session.execute(
        select(
            Complaint.ticket_id,
            Complaint.apartment,
            Complaint.number,
            Complaint.kinds,
            Complaint.confirmed,
            Complaint.pinned,
        )
        .join(Ticket, Ticket.id == Complaint.ticket_id)
        .where(or_(Ticket.state != "open", Complaint.closed_at.is_(None)))
        .where(*wanted)
    )
    found: dict[str, list[Row[Any]]] = {}
    for row in rows:
        found.setdefault(row.ticket_id, []).append(row)
    return found


def _places(session: Session, buildings: set[str | None]) -> dict[str | None, tuple[str, str]]:
    """The name and the timezone of each building; under None those of a home not known yet."""
    rows = session.execute(
        select(
            Building.id,
            Building.document["name"].as_string(),
            Building.document["timezone"].as_string(),
        ).where(Building.id.in_(b for b in buildings if b is not None))
    )
    found: dict[str | None, tuple[str, str]] = {i: (str(n), str(z)) for i, n, z in rows}
    if None in buildings:
        found[None] = (UNPLACED, zone_of(session, None))
    return found


def _queue_row(
    ticket: Row[Any], complaints: Sequence[Row[Any]], place: tuple[str, str]
) -> QueueRow:
    homes = {c.apartment for c in complaints if c.apartment is not None}
    doubtful = {c.apartment for c in complaints if not c.confirmed and c.apartment is not None}
    return QueueRow(
        ticket=ticket.id,
        reference=reference(ticket.id),
        building=ticket.building_id or "",
        building_name=place[0],
        timezone=place[1],
        danger=ticket.danger,
        respond_by=ticket.respond_by,
        reason=ticket.reason or "",
        homes=tuple(sorted(homes)),
        kinds=tuple(sorted({str(k) for c in complaints for k in c.kinds})),
        first_suspect=ticket.says,
        first_component=ticket.component,
        probability=ticket.probability,
        of_fault=ticket.of_fault,
        unknown=ticket.unknown,
        opened_at=ticket.opened_at,
        state=ticket.state,
        unconfirmed=tuple(sorted(doubtful)),
        version=ticket.version,
        assigned_to=ticket.assigned_to,
        held_until=ticket.held_until,
        hold_reason=ticket.hold_reason,
        merged_into=ticket.merged_into,
        caller="" if homes or not complaints else ends_in(complaints[0].number),
        pinned=tuple(sorted({c.apartment for c in complaints if c.pinned and c.apartment})),
    )
