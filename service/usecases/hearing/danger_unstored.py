"""The leave-now text when nothing can be stored: it goes straight to the gateway, once.

Telling needs the text, two tables of words and the gateway: no database, no building. What was told
is kept in a journal; as soon as the database takes it, it goes to the inbox like any text, with its
alert, and is not told again.
"""

from __future__ import annotations

import hashlib
import threading
from datetime import datetime
from typing import Any

import structlog
from sqlalchemy import select
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.orm import Session

from rules.asking.danger_reply import danger_reply
from rules.reading import danger_in
from service.errors import TryLaterError
from service.store.tables import OutboxMessage
from service.usecases.hearing.receive_text import Inbound, store_text
from service.usecases.hearing.web_doors import door_of_hash
from service.usecases.hearing.web_speaker import prepare_conversation, speaker_of
from service.usecases.loading.page_names import VIA_PAGE
from service.usecases.rows.alerts import DANGER, raise_alert
from service.usecases.rows.danger_journal import Unstored
from service.usecases.rows.printable import printable
from service.usecases.rows.services import Outgoing, Services
from service.usecases.sending.answer_danger import looks_spanish
from service.usecases.sending.outgoing import Draft, Letter, write_outbox

__all__ = ["BROKEN", "settle_unstored", "warn_unstored"]

log = structlog.get_logger("endswitch.danger")

# What a database that cannot be used raises.
BROKEN = (SQLAlchemyError, OSError, TryLaterError)
LONGEST_TEXT = 4000
_settling = threading.Lock()


def warn_unstored(
    services: Services,
    now: datetime,
    *,
    via: str,
    sender_id: str,
    sender: str,
    text: str,
    raw: bytes = b"",
    door: str = "",
) -> list[dict[str, Any]]:
    """Tell people to leave although nothing can be stored; returns what they are told.

    Never raises: it is called where something else has failed already. Empty unless the text speaks
    of danger. A text that is delivered again is not told again; one from a page is told by the page.
    """
    dangers = danger_in(text[:LONGEST_TEXT])
    if not dangers:
        return []
    number = services.sms.e164(sender) or ""
    entry = Unstored(
        via=via,
        sender_id=printable(sender_id),
        number=number,
        text=printable(text)[:LONGEST_TEXT],
        dangers=dangers,
        at=now,
        raw=raw,
        door=door,
    )
    is_new = bool(number or door) and services.journal.add(entry)
    try:
        is_told = is_new and bool(number) and _tell(services, now, entry)
    finally:
        services.journal.release(entry)
    if is_new:
        # For whoever watches the log; the desk's alert is raised when the database is back.
        log.critical("danger_not_stored", via=via, dangers=list(dangers), told=is_told)
    said = _words(services, entry)
    return [
        {
            "to": number or sender,
            "text": said,
            "segments": services.sms.segments(said),
            "send_at": now.isoformat(),
            "asks": None,
        }
    ]


def settle_unstored(services: Services, now: datetime) -> None:
    """Store what is in the journal, if the database takes it now; else try telling again."""
    if not services.journal.waiting():
        return
    with _settling:  # whoever is about to answer one of them waits until it is settled
        for entry in services.journal.waiting():
            try:
                with services.db.transaction() as session:
                    _settle(session, services, now, entry)
            except BROKEN:
                if entry.number and entry.told_at is None:
                    _tell(services, now, entry)
                continue
            services.journal.drop(entry)


def _tell(services: Services, now: datetime, entry: Unstored) -> bool:
    """Hand the leave-now text to the gateway, past the outbox."""
    if not services.journal.may_tell(entry, now):
        return False
    said = _words(services, entry)
    name = hashlib.sha256("/".join(entry.key).encode()).hexdigest()[:32]
    outgoing = Outgoing(
        key=f"d_{name}",
        to=entry.number,
        text=said,
        segments=services.sms.segments(said),
        send_at=entry.at,
        sent_at=now,
    )
    try:
        services.gateway.send(outgoing)
    except Exception as error:  # noqa: BLE001 - tried again with the next tick
        log.warning("danger_not_told", error=type(error).__name__)
        return False
    services.journal.told(entry, now)
    return True


def _words(services: Services, entry: Unstored) -> str:
    return services.sms.fold(danger_reply(entry.dangers, _language(entry)))


def _language(entry: Unstored) -> str:
    return "es" if looks_spanish(entry.text) else "en"


def _settle(session: Session, services: Services, now: datetime, entry: Unstored) -> None:
    """To the inbox, with the text that went out and the alert; a text stored before gets both."""
    inbound = _inbound(session, now, entry)
    if inbound is None:
        log.warning("danger_from_no_page", dangers=list(entry.dangers))
        return
    message_id = store_text(session, now, inbound).message_id
    told = session.scalars(
        select(OutboxMessage).where(OutboxMessage.message_id == message_id, OutboxMessage.urgent)
    ).all()
    if not told:
        reply = Draft(_words(services, entry), urgent=True)
        letter = Letter(inbound.from_number, "UTC", message_id=message_id, at_once=True)
        told = write_outbox(session, now, services.sms, letter, (reply,))
        raise_alert(session, now, DANGER + ", ".join(entry.dangers), message_id)
    for row in told:
        if entry.told_at is not None and row.sent_at is None:
            row.sent_at = entry.told_at
            row.attempts = 1


def _inbound(session: Session, now: datetime, entry: Unstored) -> Inbound | None:
    """The text as its own door would have stored it; None for a page that no key opens."""
    sender_id, number = entry.sender_id, entry.number
    if entry.via == VIA_PAGE:
        door = door_of_hash(session, entry.door)
        if door is None:
            return None
        sender_id = f"{door.building}/{door.apartment}/{entry.sender_id}"
        number = speaker_of(session, now, door.home)
        prepare_conversation(session, now, number, door.home, _language(entry))
    return Inbound(
        sender_id=sender_id,
        via=entry.via,
        from_number=number,
        raw=entry.raw,
        text=entry.text,
    )
