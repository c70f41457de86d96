"""A number left on an apartment's page: bound to the home like that of an unknown sender.

The page says the same whether or not the number could be bound, so that nobody can find out whose it
is. A number that is registered for another home, belongs to another home's conversation, or has
asked for no texts is left alone.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from sqlalchemy import func, select, update
from sqlalchemy.orm import Session

from rules.asking.conversation import Conversation, Say
from rules.asking.sayings import say
from rules.asking.wording import pack
from service.store.tables import Complaint, HomePhone, NumberRow, TimerRow
from service.usecases.desk.situation import situation_of
from service.usecases.hearing.web_doors import Door
from service.usecases.home.web_say import TooManyError
from service.usecases.loading.load_households import homes_of
from service.usecases.loading.page_names import page_name
from service.usecases.rows.complaint_rows import find_complaint
from service.usecases.rows.services import Services
from service.usecases.sending.outgoing import Draft, Letter, write_outbox
from service.usecases.sending.talk import conversation_of, number_row

__all__ = ["leave_phone"]

MOST_NUMBERS = 3
WITHIN = timedelta(days=1)


def leave_phone(services: Services, now: datetime, door: Door, written: str, language: str) -> bool:
    """Bind a number; False when it is no phone number.

    Raises:
        TooManyError: several numbers were left here within a day.
    """
    number = services.sms.e164(written)
    if number is None:
        return False
    with services.deciding() as session:
        if _left_before(session, door, number, now):
            return True
        if _recent(session, door, now) >= MOST_NUMBERS:
            raise TooManyError("too many numbers were left on this page")
        bound = _may_be_bound(session, door, number)
        session.add(
            HomePhone(
                building_id=door.building,
                apartment=door.apartment,
                number=number,
                given_at=now,
                bound=bound,
            )
        )
        if bound:
            _bind(session, services, now, door, number, language)
    return True


def _left_before(session: Session, door: Door, number: str, now: datetime) -> bool:
    """Sent twice, by a second press or after Back."""
    return bool(
        session.scalar(
            select(func.count())
            .select_from(HomePhone)
            .where(HomePhone.building_id == door.building, HomePhone.apartment == door.apartment)
            .where(HomePhone.number == number, HomePhone.given_at > now - WITHIN)
        )
    )


def _recent(session: Session, door: Door, now: datetime) -> int:
    query = (
        select(func.count())
        .select_from(HomePhone)
        .where(HomePhone.building_id == door.building, HomePhone.apartment == door.apartment)
        .where(HomePhone.given_at > now - WITHIN)
    )
    return session.scalar(query) or 0


def _may_be_bound(session: Session, door: Door, number: str) -> bool:
    registered = homes_of(session, number)
    if registered:
        return registered == (door.home,)
    row = session.get(NumberRow, number)
    if row is None or row.conversation is None:
        return row is None or row.stopped_at is None
    home = Conversation.from_dict(row.conversation).home
    return row.stopped_at is None and home in {None, door.home}


def _bind(
    session: Session, services: Services, now: datetime, door: Door, number: str, language: str
) -> None:
    page = page_name(door.home)
    row = number_row(session, now, number)
    complaint = find_complaint(session, page, door.home)
    conversation = replace(conversation_of(session, row), home=door.home, language=language)
    if complaint is not None and complaint.number == page:
        conversation = _moved(session, complaint, page, number) or conversation
    row.conversation = replace(conversation, language=language).to_dict()
    row.language = language
    row.updated_at = now
    if complaint is not None:
        _welcome(session, services, now, door, complaint, number, language)


def _moved(session: Session, complaint: Complaint, page: str, number: str) -> Conversation | None:
    """Give the page's conversation, and whatever it waits for, to the number."""
    complaint.number = number
    session.execute(
        update(TimerRow)
        .where(TimerRow.number == page, TimerRow.done_at.is_(None))
        .values(number=number)
    )
    spoken = session.get(NumberRow, page)
    if spoken is None or spoken.conversation is None:
        return None
    moved = Conversation.from_dict(spoken.conversation)
    spoken.conversation = None
    return moved


def _welcome(
    session: Session,
    services: Services,
    now: datetime,
    door: Door,
    complaint: Complaint,
    number: str,
    language: str,
) -> None:
    """The first text: who writes, which report, by when."""
    known = situation_of(session, now, Conversation(language=language, home=door.home), complaint)
    if not known.reference:
        return
    greeting = say("greeting_no_report", language, building=door.building_name[:30].strip())
    by = known.respond_by_text.rstrip(".")
    status = (
        say("status", language, reference=known.reference, by=by)
        if by
        else say("status_now", language, reference=known.reference)
    )
    drafts = tuple(Draft(s.text) for s in pack((greeting,), Say(status)))
    letter = Letter(number, door.timezone, complaint_id=complaint.id, at_once=True)
    write_outbox(session, now, services.sms, letter, drafts)
