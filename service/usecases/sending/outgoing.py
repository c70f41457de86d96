"""Write texts to the outbox with the decision to send them, at a time that lets people sleep."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from service.store.tables import NumberRow, OutboxMessage
from service.usecases.loading.page_names import read_on_page
from service.usecases.rows.quiet_hours import send_time, spaced
from service.usecases.rows.services import SmsRules
from service.usecases.sending.limits import own_accord_times

__all__ = [
    "Draft",
    "Letter",
    "reply_json",
    "take_back_questions",
    "take_back_waiting",
    "write_outbox",
]


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

    @property
    def is_answer(self) -> bool:
        """Whether it answers a text; what does not is sent of our own accord, and sparingly."""
        return self.message_id is not None or self.at_once


def write_outbox(
    session: Session, now: datetime, sms: SmsRules, letter: Letter, drafts: tuple[Draft, ...]
) -> list[OutboxMessage]:
    """Add a row for each draft that may be sent to this number."""
    stopped = _is_stopped(session, letter.to) and not letter.although_stopped
    on_page = read_on_page(session, letter.to, letter.message_id)
    rows = []
    for draft in drafts:
        if stopped and not draft.urgent:
            continue
        text = sms.fold(draft.text)
        send_at = now if on_page else _send_at(session, now, letter, draft)
        row = OutboxMessage(
            to_number=letter.to,
            text=text,
            segments=sms.segments(text),
            created_at=now,
            send_at=send_at,
            next_try_at=send_at,
            sent_at=now if on_page else None,
            attempts=0,
            asks=draft.asks,
            message_id=letter.message_id,
            complaint_id=letter.complaint_id,
            urgent=draft.urgent,
        )
        session.add(row)
        session.flush()  # the next one is spaced from it
        rows.append(row)
    return rows


def take_back_waiting(session: Session, now: datetime, number: str) -> None:
    """Texts are not wanted any more: what still waits to go to this number does not go, danger apart."""
    session.execute(
        update(OutboxMessage)
        .where(OutboxMessage.to_number == number, OutboxMessage.urgent.is_(False))
        .where(OutboxMessage.sent_at.is_(None), OutboxMessage.failed_at.is_(None))
        .where(OutboxMessage.claimed_at.is_(None))
        .values(failed_at=now)
    )


def take_back_questions(
    session: Session, now: datetime, number: str, *, but: str | None = None
) -> None:
    """What waits for its hour to be asked and is no longer out is not asked any more.

    ``but`` is the topic that is out.
    """
    waiting = session.scalars(
        select(OutboxMessage)
        .where(OutboxMessage.to_number == number, OutboxMessage.urgent.is_(False))
        .where(OutboxMessage.sent_at.is_(None), OutboxMessage.failed_at.is_(None))
        .where(OutboxMessage.claimed_at.is_(None), OutboxMessage.send_at > now)
    )
    for row in waiting:
        if row.asks is not None and row.asks["topic"] != but:
            row.failed_at = now
    session.flush()


def reply_json(row: OutboxMessage) -> dict[str, Any]:
    """A text in the form the API shows it."""
    return {
        "to": row.to_number,
        "text": row.text,
        "segments": row.segments,
        "send_at": row.send_at.isoformat(),
        "asks": row.asks,
    }


def _send_at(session: Session, now: datetime, letter: Letter, draft: Draft) -> datetime:
    wrote_at = now if letter.at_once else None
    at = send_time(now, letter.timezone, urgent=draft.urgent, wrote_at=wrote_at)
    if draft.urgent or letter.is_answer:
        return at
    return spaced(own_accord_times(session, letter.to), at, letter.timezone)


def _is_stopped(session: Session, number: str) -> bool:
    row = session.get(NumberRow, number)
    return row is not None and row.stopped_at is not None
