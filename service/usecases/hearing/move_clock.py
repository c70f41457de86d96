"""Read and move the manual clock; everything due on the way happens on the way, in order."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.clock import ClockBackwardsError, ManualClock
from service.errors import ConflictError, NotFoundError
from service.store.tables import ClockState, OutboxMessage
from service.usecases.diagnosing.listen_on import only_last_looks
from service.usecases.hearing.fire_timers import fire_timers, next_due
from service.usecases.hearing.process_inbox import process_pending
from service.usecases.rows.services import Services
from service.usecases.sending.send_outbox import send_outbox

__all__ = ["first_time", "move_clock", "read_clock"]

# Whoever moves the clock wants it moved; texts in hand are finished first.
PATIENCE_SECONDS = 120.0


def read_clock(services: Services) -> datetime:
    """Where the manual clock stands.

    Raises:
        NotFoundError: the service runs by the system clock.
    """
    return _manual(services).now()


def move_clock(services: Services, to: datetime) -> list[OutboxMessage]:
    """Move the manual clock; returns the texts sent on the way.

    Raises:
        NotFoundError: the service runs by the system clock.
        ConflictError: ``to`` lies in the past.
    """
    clock = _manual(services)
    with services.sending(PATIENCE_SECONDS), services.working(PATIENCE_SECONDS):
        if to < clock.now():
            raise ConflictError(
                f"the clock stands at {clock.now().isoformat()} and goes forward only"
            )
        sent = _work(services)
        while (due := _next_stop(services, to)) is not None:
            _stand_at(services, clock, max(due, clock.now()))
            sent += _work(services)
        _stand_at(services, clock, to)
        return sent + _work(services)


def first_time(session: Session, start: datetime | None, today: datetime) -> datetime:
    """Where a manual clock begins: where it stood, where told, or early enough for any date."""
    stored = session.scalar(select(ClockState.now).where(ClockState.id == 1))
    return stored or start or datetime(today.year - 1, 1, 1, tzinfo=UTC)


def _manual(services: Services) -> ManualClock:
    if not isinstance(services.clock, ManualClock):
        raise NotFoundError("the service runs by the system clock; start it with --clock manual")
    return services.clock


def _work(services: Services) -> list[OutboxMessage]:
    now = services.now()
    process_pending(services, now)
    fire_timers(services, now)
    sent: list[OutboxMessage] = []
    while went := send_outbox(services, now):  # a round at a time
        sent += went
    return sent


def _next_stop(services: Services, to: datetime) -> datetime | None:
    """The next moment after the present, up to ``to``, at which something is due."""
    now = services.now()
    with services.db.transaction() as session:
        only_last_looks(session, to)
        session.flush()
        text_due = session.scalar(
            select(OutboxMessage.next_try_at)
            .where(OutboxMessage.sent_at.is_(None), OutboxMessage.failed_at.is_(None))
            .where(OutboxMessage.next_try_at > now)
            .order_by(OutboxMessage.next_try_at)
            .limit(1)
        )
        dues = [due for due in (next_due(session), text_due) if due is not None and due <= to]
    return min((due for due in dues if due > now), default=None)


def _stand_at(services: Services, clock: ManualClock, at: datetime) -> None:
    try:
        clock.move(at)
    except ClockBackwardsError as error:
        raise ConflictError(str(error)) from error
    with services.db.transaction() as session:
        row = session.get(ClockState, 1)
        if row is None:
            session.add(ClockState(id=1, now=at))
        else:
            row.now = at
