"""Tell people to leave, before anything else is tried.

This path is kept small on purpose: it needs the text, a table of words and the outbox, no building,
no diagnosis and no conversation.
"""

from __future__ import annotations

from datetime import datetime

import structlog
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from rules.asking.danger_reply import danger_reply
from rules.reading import danger_in
from service.store.tables import HouseholdRow, InboxMessage, NumberRow, OutboxMessage
from service.usecases.rows.alerts import DANGER, raise_alert
from service.usecases.rows.services import Services
from service.usecases.sending.outgoing import Draft, Letter, write_outbox

__all__ = ["answer_danger", "language_of", "looks_spanish"]

log = structlog.get_logger()

# A text that shows its language; enough to choose between two safety answers.
SPANISH = frozenset(
    {
        "huele",
        "huelo",
        "olor",
        "hay",
        "esta",
        "está",
        "el",
        "la",
        "los",
        "en",
        "mi",
        "de",
        "humo",
        "fuego",
        "alarma",
        "suena",
        "escape",
        "fuga",
        "chispas",
        "quemado",
        "ayuda",
        "auxilio",
        "agua",
        "enchufe",
        "cocina",
        "casa",
        "muy",
        "y",
        "no",
        "por",
        "favor",
    }
)


def answer_danger(services: Services, now: datetime, message_id: str, text: str) -> tuple[str, ...]:
    """Write the leave-now text and an alert when the text speaks of danger; returns which ones."""
    dangers = danger_in(text)
    if not dangers:
        return ()
    with services.db.transaction() as session:
        message = session.scalars(
            select(InboxMessage).where(InboxMessage.id == message_id).with_for_update()
        ).one()
        if _answered(session, message_id):
            return dangers
        reply = Draft(danger_reply(dangers, language_of(session, message, text)), urgent=True)
        zone = "UTC"  # an urgent text is never held back, whatever the zone
        letter = Letter(message.from_number, zone, message_id=message_id, at_once=True)
        write_outbox(session, now, services.sms, letter, (reply,))
        raise_alert(session, now, DANGER + ", ".join(dangers), message_id)
    log.warning("danger reported", message=message_id, dangers=list(dangers))
    return dangers


def _answered(session: Session, message_id: str) -> bool:
    """Whether an earlier attempt got this far."""
    return bool(
        session.scalar(
            select(func.count())
            .select_from(OutboxMessage)
            .where(OutboxMessage.message_id == message_id, OutboxMessage.urgent)
        )
    )


def language_of(session: Session, message: InboxMessage, text: str) -> str:
    """The language to answer in when nothing has been read yet."""
    if looks_spanish(text):
        return "es"
    number = session.get(NumberRow, message.from_number)
    if number is not None and number.language:
        return number.language
    registered = session.scalar(
        select(HouseholdRow.language).where(HouseholdRow.mobile == message.from_number).limit(1)
    )
    return registered or "en"


def looks_spanish(text: str) -> bool:
    """Whether a text shows that it is Spanish; needs nothing but the text."""
    words = text.lower().split()
    return sum(word.strip(".,!¡¿?") in SPANISH for word in words) * 3 >= max(len(words), 1)
