"""Work off timers that are due, oldest first, each once and in a transaction of its own.

One that fails is tried again a little later, and given up after some tries: then a person has to know.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import structlog
from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import TimerRow
from service.usecases.hearing.hear_timer import hear_timer
from service.usecases.rows.alerts import raise_alert
from service.usecases.rows.services import Services

__all__ = ["fire_timers", "next_due"]

log = structlog.get_logger()

MOST_ATTEMPTS = 3
PAUSE = timedelta(minutes=1)  # between them: a database may be back by then


def fire_timers(services: Services, now: datetime) -> int:
    """Fire every timer that is due; returns how many there were."""
    fired = 0
    while _fire_next(services, now):
        fired += 1
    return fired


def _fire_next(services: Services, now: datetime) -> bool:
    """One timer; between two of them texts that wait may go first."""
    with services.working():
        timer_id = _next(services, now)
        if timer_id is not None:
            _fire(services, now, timer_id)
    return timer_id is not None


def next_due(session: Session) -> datetime | None:
    """When the next timer is due."""
    return session.scalar(
        select(TimerRow.due_at).where(TimerRow.done_at.is_(None)).order_by(TimerRow.due_at).limit(1)
    )


def _next(services: Services, now: datetime) -> int | None:
    """Claim the next timer, counting the attempt before it is made."""
    with services.db.transaction() as session:
        row = session.scalars(
            select(TimerRow)
            .where(TimerRow.done_at.is_(None), TimerRow.due_at <= now)
            .order_by(TimerRow.due_at, TimerRow.id)
            .limit(1)
            .with_for_update(skip_locked=True)
        ).first()
        if row is None:
            return None
        row.claimed_at = now
        row.attempts += 1
        if row.attempts > MOST_ATTEMPTS:
            _give_up(session, now, row)  # the last one ended the process
        return row.id


def _fire(services: Services, now: datetime, timer_id: int) -> None:
    try:
        with services.deciding() as session:
            row = session.get_one(TimerRow, timer_id)
            if row.done_at is None:
                row.done_at = now  # what hears it may set the same row for another time
                hear_timer(session, services.sms, now, row)
    except Exception as error:  # one broken timer must not hold up the others
        log.exception("timer failed", timer=timer_id, error=type(error).__name__)
        with services.db.transaction() as session:
            row = session.get_one(TimerRow, timer_id)
            if row.attempts >= MOST_ATTEMPTS:
                _give_up(session, now, row)
            else:
                row.due_at = now + PAUSE


def _give_up(session: Session, now: datetime, row: TimerRow) -> None:
    row.done_at = now
    log.error("timer given up", timer=row.id, purpose=row.purpose)
    raise_alert(
        session,
        now,
        "what was due was not done",
        complaint_id=row.complaint_id,
        ticket_id=row.body.get("ticket"),
    )
