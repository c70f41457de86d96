"""Send what is due: claim rows in one transaction, send outside of any, mark in another.

A crash between sending and marking sends a text twice; the key lets a gateway notice. What is urgent
goes first and is never held back. The rest waits for its number's earlier texts, for the morning when
it has become late, and for the next hour when this hour's texts are used up.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

import structlog
from sqlalchemy import Select, or_, select
from sqlalchemy.orm import Session

from service.store.tables import Complaint, NumberRow, OutboxMessage
from service.usecases.alerts import raise_alert
from service.usecases.limits import texts_left
from service.usecases.pressing import zone_of
from service.usecases.quiet_hours import awake_at, is_fresh
from service.usecases.services import Outgoing, Services

__all__ = ["send_outbox"]

log = structlog.get_logger()

BATCH = 200
LEASE = timedelta(minutes=2)
# When the hour's texts are used up, how soon to look again.
HELD_BACK = timedelta(minutes=5)
# Common practice, no source: soon at first, then ever more patiently, four hours in all.
RETRIES = tuple(timedelta(seconds=s) for s in (5, 30, 120, 600, 1800, 3600, 7200))


def send_outbox(services: Services, now: datetime) -> list[OutboxMessage]:
    """Send every text that is due; returns those that went out."""
    with services.sending():
        with services.db.transaction() as session:
            claimed = list(_claim(session, now, services.settings.texts_per_hour))
        return [row for row in claimed if _hand_over(services, row, now)]


def _claim(session: Session, now: datetime, most_an_hour: int) -> Iterator[OutboxMessage]:
    leased = OutboxMessage.claimed_at > now - LEASE
    # Numbers whose earlier text must go first.
    waiting = set(
        session.scalars(
            _due(now)
            .where(or_(OutboxMessage.next_try_at > now, leased))
            .with_only_columns(OutboxMessage.to_number)
        )
    )
    ready = (
        _due(now)
        .where(OutboxMessage.next_try_at <= now)
        .where(or_(OutboxMessage.claimed_at.is_(None), ~leased))
        .order_by(OutboxMessage.urgent.desc(), OutboxMessage.id)
        .limit(BATCH)
        .with_for_update(skip_locked=True)
    )
    left: int | None = None
    for row in session.scalars(ready).all():
        if not row.urgent:
            left = texts_left(session, now, most_an_hour) if left is None else left
            if not _may_go(session, row, now, waiting, left):
                continue
            left -= 1
        row.claimed_at = now
        row.attempts += 1
        yield row


def _due(now: datetime) -> Select[OutboxMessage]:
    return (
        select(OutboxMessage)
        .where(OutboxMessage.sent_at.is_(None), OutboxMessage.failed_at.is_(None))
        .where(OutboxMessage.send_at <= now)
    )


def _may_go(
    session: Session, row: OutboxMessage, now: datetime, waiting: set[str], left: int
) -> bool:
    """Whether a text that is not urgent goes now; if not, until when it waits."""
    if _stopped_since(session, row):
        row.failed_at = now
        return False
    if row.to_number in waiting:
        return False
    if not is_fresh(row.send_at, now):  # late: by now the household may be asleep
        awake = awake_at(now, _zone(session, row))
        if awake > now:
            row.send_at = row.next_try_at = awake
            return False
    if left <= 0:
        row.next_try_at = now + HELD_BACK
        waiting.add(row.to_number)
        return False
    return True


def _zone(session: Session, row: OutboxMessage) -> str:
    complaint = session.get(Complaint, row.complaint_id) if row.complaint_id else None
    return zone_of(session, complaint.building_id if complaint is not None else None)


def _stopped_since(session: Session, row: OutboxMessage) -> bool:
    number = session.get(NumberRow, row.to_number)
    return (
        number is not None and number.stopped_at is not None and row.created_at < number.stopped_at
    )


def _hand_over(services: Services, row: OutboxMessage, now: datetime) -> bool:
    outgoing = Outgoing(
        key=f"o_{row.id}",
        to=row.to_number,
        text=row.text,
        segments=row.segments,
        send_at=row.send_at,
        sent_at=now,
        asks=row.asks,
    )
    try:
        services.gateway.send(outgoing)
    except Exception as error:  # noqa: BLE001 - one refused text must not stop the others
        log.warning("text not sent", outbox=row.id, error=type(error).__name__)
        _failed(services, row.id, now, final=not isinstance(error, OSError))
        return False
    with services.db.transaction() as session:
        stored = session.get_one(OutboxMessage, row.id)
        stored.sent_at = now
        stored.claimed_at = None
    row.sent_at = now
    return True


def _failed(services: Services, row_id: int, now: datetime, *, final: bool) -> None:
    with services.db.transaction() as session:
        row = session.get_one(OutboxMessage, row_id)
        row.claimed_at = None
        if final or row.attempts > len(RETRIES):
            row.failed_at = now
            raise_alert(session, now, "tenant not reached", row.message_id)
        else:
            row.next_try_at = now + RETRIES[row.attempts - 1]
