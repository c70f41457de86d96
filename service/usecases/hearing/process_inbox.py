"""Work off stored texts, in order, one transaction each; three failures set a text aside.

A danger is answered first, in a transaction of its own that depends on almost nothing, so that people
are told to leave even when everything after it fails.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import structlog
from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.asking.sayings import say
from service.errors import TryLaterError
from service.store.tables import InboxMessage
from service.usecases.hearing.danger_unstored import BROKEN, settle_unstored, warn_unstored
from service.usecases.hearing.hear_text import hear_text
from service.usecases.hearing.receive_text import LONGEST_TEXT
from service.usecases.rows.alerts import raise_alert
from service.usecases.rows.pressing import zone_of
from service.usecases.rows.printable import printable
from service.usecases.rows.services import Services
from service.usecases.sending.answer_danger import answer_danger, language_of
from service.usecases.sending.outgoing import Draft, Letter, write_outbox

__all__ = ["Outcome", "process_message", "process_pending"]

log = structlog.get_logger()

MOST_ATTEMPTS = 3
BATCH = 100


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a text: its answer, or None while it is still pending or was set aside."""

    message_id: str
    answer: dict[str, Any] | None
    busy: bool = False  # others are being worked on; this one was not tried


def process_pending(services: Services, now: datetime, before: str | None = None) -> int:
    """Work off the oldest pending texts, each tried once; returns how many were read.

    With ``before``, only what the same number sent earlier than that text.
    """
    settle_unstored(services, now)
    with services.db.reading() as session:
        query = select(InboxMessage.id).where(InboxMessage.state == "pending")
        if before is not None:
            later = session.scalars(select(InboxMessage).where(InboxMessage.id == before)).one()
            query = query.where(
                InboxMessage.seq < later.seq, InboxMessage.from_number == later.from_number
            )
        waiting = list(session.scalars(query.order_by(InboxMessage.seq).limit(BATCH)))
    for message_id in waiting:
        tell_danger(services, now, message_id)
    read = 0
    for message_id in waiting:
        outcome = process_message(services, now, message_id)
        if outcome.busy:
            break
        read += outcome.answer is not None
    return read


def process_message(services: Services, now: datetime, message_id: str) -> Outcome:
    """Read one stored text and do what follows from it; a text already read keeps its answer."""
    try:
        tell_danger(services, now, message_id)
        with services.working():
            return _process(services, now, message_id)
    except TryLaterError:
        return Outcome(message_id, None, busy=True)
    except Exception as error:
        log.exception("text not decided", message=message_id, error=type(error).__name__)
        _set_aside_if_hopeless(services, now, message_id)
        return Outcome(message_id, None)


def tell_danger(services: Services, now: datetime, message_id: str) -> None:
    """Answer a danger at once, ahead of all that waits to be decided; once, however often called."""
    settle_unstored(services, now)  # what went out past the outbox is not told again
    with services.db.reading() as session:
        message = session.get_one(InboxMessage, _seq(session, message_id))
        session.expunge(message)  # it is read on after the session
    if message.state != "pending":
        return
    text = message.text
    if text is None:
        text = printable(services.sms.mail_text(message.raw) or "")[:LONGEST_TEXT]
    try:
        if message.text is None:
            _keep_text(services, message_id, text)
        answer_danger(services, now, message_id, text)
    except BROKEN:
        # It is in the inbox, but its answer cannot be put in the outbox.
        warn_unstored(
            services,
            now,
            via=message.via,
            sender_id=message.sender_id,
            sender=message.from_number,
            text=text,
        )
        raise


def _keep_text(services: Services, message_id: str, text: str) -> None:
    """What a mail says, taken out of it once."""
    with services.db.transaction() as session:
        session.get_one(InboxMessage, _seq(session, message_id)).text = text


def _process(services: Services, now: datetime, message_id: str) -> Outcome:
    text, attempts = _begin(services, now, message_id)
    if text is None:
        return _as_stored(services, message_id)
    told = answer_danger(services, now, message_id, text)
    with services.deciding() as session:
        message = session.get_one(InboxMessage, _seq(session, message_id))
        if message.state != "pending":
            return Outcome(message_id, message.answer)
        # The last try leaves the diagnosis out, so that even then there is a ticket.
        plain = attempts >= MOST_ATTEMPTS
        answer = hear_text(session, services.sms, now, message, told=told, plain=plain)
        message.answer = answer
        message.reading = answer["reading"]
        message.state = "read"
    log.info("text read", message=message_id, complaint=answer["complaint"])
    return Outcome(message_id, answer)


def _begin(services: Services, now: datetime, message_id: str) -> tuple[str | None, int]:
    """Count the attempt before making it, so that a text that kills the process is counted too."""
    with services.db.transaction() as session:
        message = session.get_one(InboxMessage, _seq(session, message_id))
        if message.state != "pending":
            return None, message.attempts
        message.attempts += 1
        if message.attempts > MOST_ATTEMPTS:
            _set_aside(session, services, now, message)
            return None, message.attempts
        return message.text or "", message.attempts


def _as_stored(services: Services, message_id: str) -> Outcome:
    with services.db.reading() as session:
        return Outcome(
            message_id,
            session.scalar(select(InboxMessage.answer).where(InboxMessage.id == message_id)),
        )


def _set_aside_if_hopeless(services: Services, now: datetime, message_id: str) -> None:
    with services.db.transaction() as session:
        message = session.get_one(InboxMessage, _seq(session, message_id))
        if message.state == "pending" and message.attempts >= MOST_ATTEMPTS:
            _set_aside(session, services, now, message)


def _set_aside(session: Session, services: Services, now: datetime, message: InboxMessage) -> None:
    """A person has to read it; whoever wrote it is told so."""
    message.state = "set_aside"
    raise_alert(session, now, "text set aside", message.id)
    draft = Draft(say("person", language_of(session, message, message.text or "")))
    letter = Letter(
        message.from_number, zone_of(session, None), message_id=message.id, at_once=True
    )
    write_outbox(session, now, services.sms, letter, (draft,))


def _seq(session: Session, message_id: str) -> int:
    found: int = session.scalars(
        select(InboxMessage.seq).where(InboxMessage.id == message_id)
    ).one()
    return found
