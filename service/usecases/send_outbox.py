"""Send what is due: claim rows in one transaction, send outside of any, mark in another.

A crash between sending and marking sends a text twice; the key lets a gateway notice.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

import structlog
from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import Alert, NumberRow, OutboxMessage
from service.usecases.services import Outgoing, Services

__all__ = ["send_outbox"]

log = structlog.get_logger()

BATCH = 200
LEASE = timedelta(minutes=2)
# Common practice, no source: soon at first, then ever more patiently, four hours in all.
RETRIES = tuple(timedelta(seconds=s) for s in (5, 30, 120, 600, 1800, 3600, 7200))


def send_outbox(services: Services, now: datetime) -> list[OutboxMessage]:
    """Send every text that is due; returns those that went out."""
    with services.sending():
        with services.db.transaction() as session:
            claimed = list(_claim(session, now))
        return [row for row in claimed if _hand_over(services, row, now)]


def _claim(session: Session, now: datetime) -> Iterator[OutboxMessage]:
    due = (
        select(OutboxMessage)
        .where(OutboxMessage.sent_at.is_(None), OutboxMessage.failed_at.is_(None))
        .where(OutboxMessage.send_at <= now)
        .order_by(OutboxMessage.id)
        .limit(BATCH)
        .with_for_update(skip_locked=True)
    )
    waiting: set[str] = set()  # numbers whose earlier text must go first
    for row in session.scalars(due):
        if row.next_try_at > now or (row.claimed_at is not None and row.claimed_at > now - LEASE):
            waiting.add(row.to_number)
        elif not row.urgent and _stopped_since(session, row):
            row.failed_at = now
        elif row.to_number not in waiting:
            row.claimed_at = now
            row.attempts += 1
            yield row


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
            session.add(Alert(at=now, what="tenant not reached", message_id=row.message_id))
        else:
            row.next_try_at = now + RETRIES[row.attempts - 1]
