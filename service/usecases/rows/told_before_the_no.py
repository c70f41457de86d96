"""What a household told of its room before its report was opened again, as far as that still counts."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from rules.model import Temperature
from service.store.tables import Closure, Complaint, FactRow, InboxMessage, Ticket
from service.usecases.rows.nothing_found import is_looked_only

__all__ = ["room_before"]

# How long a temperature told before a report was opened again still counts: half a day; three days where
# the visit between has found nothing, because a home in which all works does not cool down (common
# practice, no source).
STILL_LIKELY, STILL_TRUE = timedelta(hours=12), timedelta(hours=72)


def room_before(session: Session, complaint: Complaint) -> float | None:
    """The last room temperature told before it was opened again, in F; None if none counts."""
    if complaint.reopened_at is None:
        return None
    told = [
        *_until_the_work(session, complaint, complaint.reopened_at),
        *_since_the_work(session, complaint, complaint.reopened_at),
    ]
    return max(told)[1] if told else None


_Told = tuple[datetime, float]


def _until_the_work(session: Session, complaint: Complaint, until: datetime) -> Iterator[_Told]:
    """With the report; what was taken back by the household, and not by a closing, does not count."""
    rows = session.scalars(
        select(FactRow)
        .where(FactRow.complaint_id == complaint.id, FactRow.withdrawn_at.is_not(None))
        .where(FactRow.at <= until, FactRow.at > until - STILL_TRUE)
        .order_by(FactRow.at, FactRow.id)
    )
    for row in rows:
        if row.body["type"] != "room_read" or row.body["room_f"] is None:
            continue
        ended = session.scalars(
            select(Closure)
            .join(Ticket, Ticket.id == Closure.ticket_id)
            .where(Ticket.building_id == complaint.building_id)
            .where(Closure.closed_at == row.withdrawn_at)
        ).all()
        kept = STILL_TRUE if all(map(is_looked_only, ended)) else STILL_LIKELY
        if ended and row.at > until - kept:
            yield row.at, float(row.body["room_f"])


def _since_the_work(session: Session, complaint: Complaint, until: datetime) -> Iterator[_Told]:
    """In texts that came when the report was closed, which add nothing to it."""
    rows = session.scalars(
        select(InboxMessage)
        .where(InboxMessage.from_number == complaint.number)
        .where(or_(InboxMessage.complaint_id.is_(None), InboxMessage.complaint_id == complaint.id))
        .where(InboxMessage.received_at <= until, InboxMessage.received_at > until - STILL_LIKELY)
    )
    for row in rows:
        room = (row.reading or {}).get("room_temp")
        if room is not None:
            yield row.received_at, Temperature(room["value"], room["unit"]).fahrenheit
