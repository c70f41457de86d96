"""What the machine still has in hand for a household: timers that will ask, texts not sent yet."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from service.store.tables import Complaint, OutboxMessage, TimerRow, TurnAsk

__all__ = ["pick_up", "put_down"]

# Questions of the conversation; asking about a repair is none, nor is raising an alert again.
ASKING = ("check", "remind", "close")
KEPT = ("to_number", "text", "segments", "asks", "message_id", "complaint_id")
TIMES = ("created_at", "send_at", "next_try_at")


def put_down(session: Session, now: datetime, complaint: Complaint) -> dict[str, Any]:
    """Let timers rest and take unsent texts out of the outbox; returns what to pick up again.

    A text that tells of danger, that a person wrote, or that is on its way, goes out all the same.
    """
    timers = session.scalars(
        select(TimerRow)
        .where(TimerRow.number == complaint.number, TimerRow.done_at.is_(None))
        .where(TimerRow.purpose.in_(ASKING))
        .where(or_(TimerRow.complaint_id == complaint.id, TimerRow.complaint_id.is_(None)))
        .order_by(TimerRow.id)
    ).all()
    for timer in timers:
        timer.done_at = now
    texts = session.scalars(
        select(OutboxMessage)
        .where(OutboxMessage.complaint_id == complaint.id, OutboxMessage.sent_at.is_(None))
        .where(OutboxMessage.failed_at.is_(None), OutboxMessage.claimed_at.is_(None))
        .where(OutboxMessage.urgent.is_(False), OutboxMessage.written_by.is_(None))
        .where(OutboxMessage.id.not_in(select(TurnAsk.outbox_id)))
        .order_by(OutboxMessage.id)
        .with_for_update()
    ).all()
    rows = [
        {
            **{name: getattr(text, name) for name in KEPT},
            **{name: getattr(text, name).isoformat() for name in TIMES},
        }
        for text in texts
    ]
    for text in texts:
        session.delete(text)
    session.flush()
    return {"timers": [timer.id for timer in timers], "texts": rows}


def pick_up(session: Session, now: datetime, put_by: dict[str, Any]) -> None:
    """Let the timers run again, and send what was not sent, no earlier than now."""
    for timer_id in put_by["timers"]:
        session.get_one(TimerRow, timer_id).done_at = None
    for row in put_by["texts"]:
        times = {name: datetime.fromisoformat(row[name]) for name in TIMES}
        times["send_at"] = times["next_try_at"] = max(now, times["send_at"])
        kept = {name: row[name] for name in KEPT}
        session.add(OutboxMessage(**kept, **times, attempts=0))
    session.flush()
