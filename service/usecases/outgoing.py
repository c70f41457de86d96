"""Write texts to the outbox with the decision to send them, at a time that lets people sleep."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from service.store.tables import NumberRow, OutboxMessage
from service.usecases.services import SmsRules

__all__ = ["Draft", "Letter", "awake_at", "reply_json", "write_outbox"]

# Common practice, no source: nobody is texted at night unless it cannot wait or they just wrote.
DAY_STARTS = time(8, 0)
DAY_ENDS = time(21, 0)
# However two machines manage to answer each other, it ends here.
MOST_TEXTS = 30
MOST_TEXTS_WITHIN = timedelta(minutes=10)


@dataclass(frozen=True, slots=True)
class Draft:
    """A text to one number before it is addressed; ``asks`` is (topic, choices) as JSON."""

    text: str
    asks: dict[str, Any] | None = None
    urgent: bool = False


@dataclass(frozen=True, slots=True)
class Letter:
    """Whom the texts go to, and why now."""

    to: str
    timezone: str
    message_id: str | None = None
    complaint_id: str | None = None
    at_once: bool = False  # they wrote to us minutes ago, so they are awake
    although_stopped: bool = False  # the one confirmation of an opt-out


def write_outbox(
    session: Session, now: datetime, sms: SmsRules, letter: Letter, drafts: tuple[Draft, ...]
) -> list[OutboxMessage]:
    """Add a row for each draft that may be sent to this number."""
    stopped = _is_stopped(session, letter.to) and not letter.although_stopped
    allowed = MOST_TEXTS - _recent(session, now, letter.to)
    rows = []
    for index, draft in enumerate(drafts):
        if not draft.urgent and (stopped or index >= allowed):
            continue
        text = sms.fold(draft.text)
        at_once = draft.urgent or letter.at_once
        send_at = now if at_once else awake_at(now, letter.timezone)
        rows.append(
            OutboxMessage(
                to_number=letter.to,
                text=text,
                segments=sms.segments(text),
                created_at=now,
                send_at=send_at,
                next_try_at=send_at,
                attempts=0,
                asks=draft.asks,
                message_id=letter.message_id,
                complaint_id=letter.complaint_id,
                urgent=draft.urgent,
            )
        )
    session.add_all(rows)
    session.flush()
    return rows


def reply_json(row: OutboxMessage) -> dict[str, Any]:
    """A text in the form the API shows it."""
    return {
        "to": row.to_number,
        "text": row.text,
        "segments": row.segments,
        "send_at": row.send_at.isoformat(),
        "asks": row.asks,
    }


def awake_at(now: datetime, timezone: str) -> datetime:
    """The first moment from ``now`` on at which a text disturbs nobody, in building time."""
    zone = ZoneInfo(timezone)
    local = now.astimezone(zone)
    if DAY_STARTS <= local.time() < DAY_ENDS:
        return now
    day = local.date() + timedelta(days=1 if local.time() >= DAY_ENDS else 0)
    return datetime.combine(day, DAY_STARTS, tzinfo=zone).astimezone(now.tzinfo)


def _is_stopped(session: Session, number: str) -> bool:
    row = session.get(NumberRow, number)
    return row is not None and row.stopped_at is not None


def _recent(session: Session, now: datetime, number: str) -> int:
    return (
        session.scalar(
            select(func.count())
            .select_from(OutboxMessage)
            .where(
                OutboxMessage.to_number == number,
                OutboxMessage.created_at > now - MOST_TEXTS_WITHIN,
            )
        )
        or 0
    )
