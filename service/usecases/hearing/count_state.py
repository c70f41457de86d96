"""How much is waiting, for metrics and for the readiness check."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from service.store.tables import InboxMessage, OutboxMessage, Ticket, TimerRow

__all__ = ["Counts", "count_state"]


@dataclass(frozen=True, slots=True)
class Counts:
    """What is waiting now."""

    inbox_pending: int
    outbox_due: int
    timers_late_seconds: float
    tickets_open: int


def count_state(session: Session, now: datetime) -> Counts:
    """Count what is waiting."""
    oldest = session.scalar(select(func.min(TimerRow.due_at)).where(TimerRow.done_at.is_(None)))
    late = (now - oldest).total_seconds() if oldest is not None else 0.0
    pending = select(func.count()).select_from(InboxMessage).where(InboxMessage.state == "pending")
    due = (
        select(func.count())
        .select_from(OutboxMessage)
        .where(OutboxMessage.sent_at.is_(None), OutboxMessage.failed_at.is_(None))
        .where(OutboxMessage.send_at <= now)
    )
    tickets = select(func.count()).select_from(Ticket).where(Ticket.state == "open")
    return Counts(
        inbox_pending=session.scalar(pending) or 0,
        outbox_due=session.scalar(due) or 0,
        timers_late_seconds=max(late, 0.0),
        tickets_open=session.scalar(tickets) or 0,
    )
