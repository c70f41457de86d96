"""What the SMTP door does with a mail: find out whose it is and put it in the inbox, raw.

Only the headers are looked at here, with limits. The words are taken out later, by the work on the
inbox, so that no content can keep a text from being stored. Mail that is not from a number at the
gateway, or that a program wrote, is kept but set aside: it is never answered. A number's own mail
that looks automatic also raises an alert, because a gateway may mark a tenant's words that way.

When nothing can be stored the sender gets a 451 and tries again; a danger is told to leave before that.
"""

from __future__ import annotations

import uuid
from datetime import datetime

from sqlalchemy import update
from sqlalchemy.orm import Session

from service.sms.addressing import e164, number_at, number_in_from
from service.sms.intake import Store
from service.sms.mime import Head, mail_text, read_head
from service.sms.segments import fold, segments
from service.store.tables import Alert, InboxMessage
from service.telemetry.metrics import Metrics
from service.usecases.hearing.danger_unstored import BROKEN, warn_unstored
from service.usecases.hearing.receive_text import Inbound, store_text
from service.usecases.rows.services import Services, SmsRules

__all__ = ["mail_store", "sms_rules"]

NO_ID = "sha256:"  # how an id of our own making begins
UNKNOWN_SENDER = ""  # the column takes no null, and no number is empty


def sms_rules() -> SmsRules:
    """The arithmetic of text messages for the use cases, which lie below this room."""
    return SmsRules(fold=fold, segments=segments, e164=e164, mail_text=mail_text)


def mail_store(services: Services, metrics: Metrics | None = None) -> Store:
    """The function the intake hands each mail to; it returns when the mail is on disk."""

    def store(sender: str, recipients: tuple[str, ...], raw: bytes) -> None:
        result = "failed"
        head = read_head(raw)
        try:
            result = _store(services, sender, recipients, raw, head)
        except BROKEN:
            _warn(services, sender, raw, head)
            raise
        finally:
            if metrics is not None:
                metrics.inbound_total.labels("smtp", result).inc()

    return store


def _warn(services: Services, sender: str, raw: bytes, head: Head) -> None:
    """Tell people in danger to leave although their text is not stored."""
    number = _number(services.settings.sms_domain, sender, head)
    if number is None or head.automatic:
        return
    warn_unstored(
        services,
        services.now(),
        via="smtp",
        sender_id=_sender_id(head, sender),
        sender=number,
        text=services.sms.mail_text(raw) or "",
        raw=raw,
    )


def _store(
    services: Services, sender: str, recipients: tuple[str, ...], raw: bytes, head: Head
) -> str:
    number = _number(services.settings.sms_domain, sender, head)
    inbound = Inbound(
        sender_id=_sender_id(head, sender),
        via="smtp",
        from_number=number or UNKNOWN_SENDER,
        raw=raw,
        to_address=next(iter(recipients), None),
        sent_at=head.sent_at,
    )
    with services.db.transaction() as session:
        stored = store_text(session, services.now(), inbound)
        if stored.duplicate:
            return "duplicate"
        if number and not head.automatic:
            return "stored"
        _set_aside(session, services.now(), stored.message_id, alert=number is not None)
        return "set_aside"


def _sender_id(head: Head, sender: str) -> str:
    """The sender's own id; without one the same mail twice is told by sender, date and content.

    Without a date either nothing tells a repetition from a second text with the same words ("1" to
    two questions), so both are kept.
    """
    if not head.message_id.startswith(NO_ID):
        return head.message_id
    if head.sent_at is None:
        return f"{head.message_id}:{uuid.uuid4().hex}"
    return f"{head.message_id}:{sender}"


def _set_aside(session: Session, now: datetime, message_id: str, *, alert: bool) -> None:
    session.execute(
        update(InboxMessage).where(InboxMessage.id == message_id).values(state="set_aside")
    )
    if alert:
        what = "mail that looks automatic was set aside"
        session.add(Alert(at=now, what=what, message_id=message_id))


def _number(domain: str, sender: str, head: Head) -> str | None:
    """The number a mail comes from: its envelope's, else that of its one From header."""
    return number_at(sender, domain) or number_in_from(head.from_headers, domain)
