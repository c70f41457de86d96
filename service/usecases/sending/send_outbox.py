"""Send what is due: claim rows in one transaction, send outside of any, mark in another.

A crash between sending and marking sends a text twice; the key lets a gateway notice. What is urgent
goes first and is never held back. The rest waits for its number's earlier texts, for the morning when
it has become late, and for the next hour when this hour's texts are used up.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import datetime, timedelta

import structlog
from sqlalchemy import Select, or_, select, update
from sqlalchemy.orm import Session

from service.store.tables import Complaint, HouseholdRow, NumberRow, OutboxMessage
from service.usecases.rows.alerts import raise_alert, raise_once
from service.usecases.rows.pressing import zone_of
from service.usecases.rows.quiet_hours import awake_at, is_fresh
from service.usecases.rows.services import Outgoing, Services
from service.usecases.sending.limits import HOUR, texts_left

__all__ = ["send_outbox"]

log = structlog.get_logger()

BATCH = 200
# Of real time: then what is urgent has its turn again, and nobody who stops the service waits long.
ROUND_SECONDS = 5.0
LEASE = timedelta(minutes=2)
# When the hour's texts are used up, how soon to look again.
HELD_BACK = timedelta(minutes=5)
# Common practice, no source: soon at first, then ever more patiently, four hours in all.
RETRIES = tuple(timedelta(seconds=s) for s in (5, 30, 120, 600, 1800, 3600, 7200))


def send_outbox(
    services: Services, now: datetime, *, round_seconds: float = ROUND_SECONDS
) -> list[OutboxMessage]:
    """Send every text that is due, as far as one round goes; returns those that went out."""
    with services.sending():
        with services.db.transaction() as session:
            claimed = list(_claim(session, now, services.settings.texts_per_hour))
        return _send(services, claimed, now, round_seconds)


def _send(
    services: Services, claimed: list[OutboxMessage], now: datetime, round_seconds: float
) -> list[OutboxMessage]:
    """One after the other until the round is over; those that went out."""
    started = time.monotonic()
    sent: list[OutboxMessage] = []
    untried: list[int] = []
    behind: set[str] = set()  # numbers of which a text has just failed: none overtakes it
    for row in claimed:
        over = (sent or behind) and time.monotonic() - started > round_seconds
        if not row.urgent and (over or row.to_number in behind):
            untried.append(row.id)
        elif _hand_over(services, row, now):
            sent.append(row)
        elif row.failed_at is None:
            behind.add(row.to_number)
    if untried:
        _give_back(services, untried)
    return sent


def _claim(session: Session, now: datetime, most_an_hour: int) -> Iterator[OutboxMessage]:
    leased = OutboxMessage.claimed_at > now - LEASE
    # Numbers whose earlier text must go first.
    waiting = (
        _due(now)
        .where(or_(OutboxMessage.next_try_at > now, leased))
        .with_only_columns(OutboxMessage.to_number)
    )
    ready = (
        _due(now)
        .where(OutboxMessage.next_try_at <= now)
        .where(or_(OutboxMessage.urgent, OutboxMessage.to_number.not_in(waiting)))
        .where(or_(OutboxMessage.claimed_at.is_(None), ~leased))
        .order_by(OutboxMessage.urgent.desc(), OutboxMessage.id)
        .limit(BATCH)
        .with_for_update(skip_locked=True)
    )
    left: int | None = None
    for row in session.scalars(ready).all():
        if not row.urgent:
            left = texts_left(session, now, most_an_hour) if left is None else left
            if not _may_go(session, row, now, left):
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


def _may_go(session: Session, row: OutboxMessage, now: datetime, left: int) -> bool:
    """Whether a text that is not urgent goes now; if not, until when it waits."""
    if _stopped_since(session, row):
        row.failed_at = now
        return False
    if not is_fresh(row.send_at, now):  # late: by now the household may be asleep
        awake = awake_at(now, _zone(session, row))
        if awake > now:
            row.send_at = row.next_try_at = awake
            return False
    if left <= 0:
        row.next_try_at = now + HELD_BACK
        return False
    return True


def _zone(session: Session, row: OutboxMessage) -> str:
    """By its complaint; news and codes have none, but go to phones of a household."""
    complaint = session.get(Complaint, row.complaint_id) if row.complaint_id else None
    if complaint is not None:
        return zone_of(session, complaint.building_id)
    of_household = select(HouseholdRow.building_id).where(HouseholdRow.mobile == row.to_number)
    return zone_of(session, session.scalar(of_household.order_by(HouseholdRow.id).limit(1)))


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
        row.failed_at = _failed(services, row.id, now, final=not isinstance(error, OSError))
        return False
    with services.db.transaction() as session:
        stored = session.get_one(OutboxMessage, row.id)
        stored.sent_at = now
        stored.claimed_at = None
    row.sent_at = now
    return True


def _failed(services: Services, row_id: int, now: datetime, *, final: bool) -> datetime | None:
    """Try again later, or give up and tell the desk; since when it is given up."""
    with services.db.transaction() as session:
        row = session.get_one(OutboxMessage, row_id)
        row.claimed_at = None
        if final or row.attempts > len(RETRIES):
            row.failed_at = now
            _tell_desk(session, now, row)
        else:
            row.next_try_at = now + RETRIES[row.attempts - 1]
        return row.failed_at


def _tell_desk(session: Session, now: datetime, row: OutboxMessage) -> None:
    if row.message_id is None and row.complaint_id is None:
        # One of many alike; the gateway is more likely the cause than the phone.
        raise_once(session, now, "texts did not reach every household", HOUR)
        return
    raise_alert(session, now, "tenant not reached", row.message_id, complaint_id=row.complaint_id)


def _give_back(services: Services, row_ids: list[int]) -> None:
    """They were not tried: they wait for the next round, or for the one before them."""
    with services.db.transaction() as session:
        session.execute(
            update(OutboxMessage)
            .where(OutboxMessage.id.in_(row_ids))
            .values(claimed_at=None, attempts=OutboxMessage.attempts - 1)
        )
