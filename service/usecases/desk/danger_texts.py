"""What homes that were told to leave are told when the danger was none, and when it is one after all."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.asking.danger_reply import danger_reply
from rules.asking.sayings import say
from rules.urgency.danger_over import FoundBy
from service.store.tables import Complaint, DeskAct, OutboxMessage
from service.usecases.rows.ids import reference
from service.usecases.rows.pressing import zone_of
from service.usecases.rows.services import SmsRules
from service.usecases.sending.outgoing import Draft, Letter, write_outbox
from service.usecases.sending.talk import conversation_of, number_row

__all__ = ["NO_DANGER", "found_words", "over_lately", "over_words", "tell_again", "tell_over"]

NO_DANGER = "no_danger"  # the act of the desk
SHOWN_FOR = timedelta(days=1)


def found_words(found_by: FoundBy, language: str) -> str:
    """By whom it was found that there is no danger."""
    return say(f"danger_over_{found_by.value}", language)


def over_words(found_by: FoundBy, language: str, ticket_id: str | None) -> str:
    """The text: by whom it was found, and what becomes of the report; no ticket: it is closed."""
    found = found_words(found_by, language)
    if ticket_id is None:
        return f"{found} {say('danger_over_closed', language)}"
    return f"{found} {say('danger_over_open', language, reference=reference(ticket_id))}"


def over_lately(session: Session, now: datetime, complaint: Complaint, language: str) -> str:
    """The same for the page of the home, on the day after; empty where there is nothing to say."""
    acts = session.scalars(
        select(DeskAct)
        .where(DeskAct.act == NO_DANGER, DeskAct.undone_at.is_(None), DeskAct.at > now - SHOWN_FOR)
        .order_by(DeskAct.id.desc())
    )
    key = f"danger/{complaint.id}"
    act = next((act for act in acts if key in act.body["after"]), None)
    if act is None or complaint.danger:
        return ""
    open_on = complaint.ticket_id if complaint.closed_at is None else None
    return over_words(FoundBy(act.body["found_by"]), language, open_on)


def tell_over(
    session: Session,
    now: datetime,
    sms: SmsRules,
    found_by: FoundBy,
    homes: Sequence[tuple[Complaint, Sequence[str]]],
) -> list[OutboxMessage]:
    """One text to each phone, at once: people stand outside. The first report of a phone counts."""
    rows: list[OutboxMessage] = []
    told: set[str] = set()
    for complaint, numbers in homes:
        open_on = complaint.ticket_id if complaint.closed_at is None else None
        for number in (n for n in numbers if n not in told):
            told.add(number)
            language = conversation_of(session, number_row(session, now, number)).language
            text = over_words(found_by, language, open_on)
            zone = zone_of(session, complaint.building_id)
            letter = Letter(number, zone, complaint_id=complaint.id)
            rows += write_outbox(session, now, sms, letter, (Draft(text, urgent=True),))
    return rows


def tell_again(
    session: Session, now: datetime, sms: SmsRules, rows: Iterable[OutboxMessage]
) -> None:
    """Whoever was told that there is none is told to leave again; a text still here does not go."""
    for row in rows:
        if row.sent_at is None and row.claimed_at is None:
            session.delete(row)
            continue
        complaint = session.get_one(Complaint, str(row.complaint_id))
        language = conversation_of(session, number_row(session, now, row.to_number)).language
        draft = Draft(danger_reply(complaint.danger, language), urgent=True)
        zone = zone_of(session, complaint.building_id)
        letter = Letter(row.to_number, zone, complaint_id=complaint.id)
        write_outbox(session, now, sms, letter, (draft,))
    session.flush()
