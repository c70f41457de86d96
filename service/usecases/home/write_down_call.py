"""What a household tells on the telephone, written down at the desk, and heard like its texts.

It belongs to the conversation that the home has already, so that what is asked there can be answered
by telephone, and what is told by telephone is answered by text to a phone that is on file. Where none
is, the home's own page shows it.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.auth.who import Who
from service.errors import InvalidError, PointedError
from service.store.tables import Building, HouseholdRow, InboxMessage, NumberRow
from service.usecases.desk.find_home import home_on_file
from service.usecases.hearing.process_inbox import process_message, process_pending
from service.usecases.hearing.receive_text import Inbound, Stored, store_text
from service.usecases.hearing.web_doors import Door
from service.usecases.hearing.web_speaker import prepare_conversation
from service.usecases.home.web_phone import leave_phone
from service.usecases.loading.page_names import VIA_CALL, page_name
from service.usecases.loading.whose_phone import Home, homes_known
from service.usecases.rows.audit import note_act
from service.usecases.rows.complaint_rows import find_complaint
from service.usecases.rows.services import Services

__all__ = ["Call", "spoken_under", "write_down_call", "written_down_by"]

LANGUAGES = ("en", "es")
LONGEST_WORDS = 2000


@dataclass(frozen=True, slots=True)
class Call:
    """One call, or one more thing said in it."""

    once: str  # made with the form, so that sending it again is not saying it again
    building: str
    apartment: str
    words: str
    language: str  # in which the household is answered; the words may be in another
    phone: str = ""  # one they can be written to, where none is on file


def write_down_call(services: Services, now: datetime, who: Who, call: Call) -> tuple[str, Home]:
    """Store what was told, then hear it; returns the message's id, and the home.

    Raises:
        InvalidError: there is no such home, nothing was told, or the phone is none.
        TooManyError: several phones were told for this home within a day.
    """
    words = call.words.strip()[:LONGEST_WORDS]
    if call.phone and services.sms.e164(call.phone) is None:
        raise InvalidError("nothing was written down", (PointedError("/phone", "is no number"),))
    with services.db.transaction() as session:
        home = home_on_file(session, call.building, call.apartment)
        door = _door(session, home)
        if not words:
            wrong = PointedError("/words", "is empty")
            raise InvalidError("nothing was written down", (wrong,))
        stored = _store(session, now, who, call, home, words)
        if not stored.duplicate:
            note_act(session, now, who, "call written down", stored.message_id, {})
    process_pending(services, now, before=stored.message_id)
    process_message(services, now, stored.message_id)
    if call.phone:
        leave_phone(services, now, door, call.phone, call.language)
    return stored.message_id, home


def written_down_by(message: InboxMessage) -> str | None:
    """Who wrote a call down; None for what the household has written itself."""
    if message.via != VIA_CALL:
        return None
    return str(json.loads(message.raw)["by"])


def spoken_under(session: Session, home: Home) -> str:
    """The number under which a home's calls are kept: its report's, else one on file, else its page.

    A phone of several homes, or one that wants no texts, is no home's own.
    """
    page = page_name(home)
    complaint = find_complaint(session, page, home)
    on_file = session.scalars(
        select(HouseholdRow.mobile)
        .where(HouseholdRow.building_id == home[0], HouseholdRow.apartment == home[1])
        .where(HouseholdRow.mobile.is_not(None))
        .order_by(HouseholdRow.id)
    )
    numbers = [complaint.number] if complaint is not None else [n for n in on_file if n]
    for number in numbers:
        row = session.get(NumberRow, number)
        stopped = row is not None and row.stopped_at is not None
        if not stopped and homes_known(session, number) in {(home,), ()}:
            return number
    return page


def _door(session: Session, home: Home) -> Door:
    document = session.get_one(Building, home[0]).document
    return Door(home[0], str(document["name"]), home[1], str(document["timezone"]))


def _store(session: Session, now: datetime, who: Who, call: Call, home: Home, words: str) -> Stored:
    speaker = spoken_under(session, home)
    # Nobody calls the desk for nothing: the first thing a home tells is a report, in any words.
    begins = find_complaint(session, page_name(home), home) is None
    fields: dict[str, object] = {"by": who.name, **({"kinds": []} if begins else {})}
    inbound = Inbound(
        sender_id=call.once,
        via=VIA_CALL,
        from_number=speaker,
        raw=json.dumps(fields, ensure_ascii=True, sort_keys=True).encode(),
        text=words,
    )
    stored = store_text(session, now, inbound)
    if not stored.duplicate:
        language = call.language if call.language in LANGUAGES else LANGUAGES[0]
        prepare_conversation(session, now, speaker, home, language)
    return stored
