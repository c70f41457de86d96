"""Store an inbound text before anything is decided about it. The same id is stored once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from service.store.tables import InboxMessage
from service.usecases.rows.ids import new_id
from service.usecases.rows.printable import printable

__all__ = ["Inbound", "Stored", "store_text"]

LONGEST_TEXT = 20_000


@dataclass(frozen=True, slots=True)
class Inbound:
    """A text as it came in. ``text`` is None when it still has to be taken out of ``raw``,
    where what was sent stays untouched.
    """

    sender_id: str
    via: str  # "smtp", "http", "web" or "call"
    from_number: str  # E.164
    raw: bytes
    text: str | None = None
    to_address: str | None = None
    sent_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Stored:
    """Our id of the text, and whether it had been stored before."""

    message_id: str
    duplicate: bool


def store_text(session: Session, now: datetime, inbound: Inbound) -> Stored:
    """Write the text to the inbox, or find it there."""
    sender_id = printable(inbound.sender_id)
    known = _known(session, inbound.via, sender_id)
    if known is not None:
        return Stored(message_id=known, duplicate=True)
    row = _row(now, inbound, sender_id)
    try:
        with session.begin_nested():
            session.add(row)
    except IntegrityError:
        # Somebody delivered the same text between our look and our write.
        known = _known(session, inbound.via, sender_id)
        if known is None:
            raise
        return Stored(message_id=known, duplicate=True)
    return Stored(message_id=row.id, duplicate=False)


def _known(session: Session, via: str, sender_id: str) -> str | None:
    return session.scalar(
        select(InboxMessage.id).where(InboxMessage.via == via, InboxMessage.sender_id == sender_id)
    )


def _row(now: datetime, inbound: Inbound, sender_id: str) -> InboxMessage:
    return InboxMessage(
        id=new_id("m"),
        sender_id=sender_id,
        via=inbound.via,
        from_number=inbound.from_number,
        to_address=printable(inbound.to_address) if inbound.to_address else None,
        received_at=now,
        sent_at=inbound.sent_at,
        raw=inbound.raw,
        text=None if inbound.text is None else printable(inbound.text)[:LONGEST_TEXT],
        state="pending",
        attempts=0,
    )
