"""What a conversation waits for next."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import TimerRow

__all__ = ["next_timer"]


def next_timer(session: Session, number: str | None) -> TimerRow | None:
    """The first timer of a number that is still to come, if there is one."""
    return session.scalars(
        select(TimerRow)
        .where(TimerRow.number == number, TimerRow.done_at.is_(None))
        .order_by(TimerRow.due_at)
        .limit(1)
    ).first()
