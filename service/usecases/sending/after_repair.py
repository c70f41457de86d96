"""After a repair each household of the ticket is told, and asked next morning whether all is right."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import func, select, update
from sqlalchemy.orm import Session

from rules.asking.conversation import RIGHT_NOW, Conversation, State
from rules.asking.sayings import say
from service.store.tables import (
    Closure,
    Complaint,
    HouseholdRow,
    InboxMessage,
    NumberHome,
    NumberRow,
    TimerRow,
)
from service.usecases.loading.page_names import is_page
from service.usecases.rows.nothing_found import is_looked_only
from service.usecases.rows.quiet_hours import awake_at, is_fresh
from service.usecases.rows.services import SmsRules
from service.usecases.sending.outgoing import Draft, Letter, take_back_questions, write_outbox
from service.usecases.sending.talk import conversation_of, number_row

__all__ = ["ask_tomorrow", "tell_done"]

# After a night everybody knows whether the heat is right (common practice, no source).
ASK_AT = time(9, 0)


def tell_done(
    session: Session,
    now: datetime,
    sms: SmsRules,
    zone: str,
    closure: Closure,
    complaints: Sequence[Complaint],
) -> frozenset[str]:
    """Say that the work is done, once a phone, in its language; returns who knows of it now.

    Not at night: next morning's question says it too, and an hour before it nobody needs it twice.
    A page shows by itself that the report is closed.
    """
    key = "looked_done" if is_looked_only(closure) else "repair_done"
    told = set()
    for complaint in _one_a_number(complaints):
        fresh = _wrote_just_now(session, now, complaint.number)
        if is_page(complaint.number):
            told.add(complaint.number)
            continue
        if awake_at(now, zone) > now and not fresh:
            continue
        told.add(complaint.number)
        language = conversation_of(session, number_row(session, now, complaint.number)).language
        letter = Letter(
            to=complaint.number, timezone=zone, complaint_id=complaint.id, at_once=fresh
        )
        write_outbox(session, now, sms, letter, (Draft(say(key, language)),))
    return frozenset(told)


def ask_tomorrow(
    session: Session,
    now: datetime,
    zone: str,
    closure: Closure,
    complaints: Sequence[Complaint],
    told: Collection[str],
    at: datetime | None = None,
) -> None:
    """End the conversations quietly and set next morning's question, one a phone.

    ``told`` are the phones that know of the work; ``at`` is when else it is asked.
    """
    for complaint in complaints:
        session.execute(
            update(TimerRow)
            .where(TimerRow.complaint_id == complaint.id, TimerRow.done_at.is_(None))
            .values(done_at=now)
        )
    for complaint in complaints:
        for number in _phones(session, complaint):
            take_back_questions(session, now, number)
            _end_conversation(session, number, complaint, closure, is_told=number in told)
    for complaint in _one_a_number(complaints):
        session.add(
            TimerRow(
                purpose="repair_check",
                key=f"repair_check:{closure.id}:{complaint.id}" + (f":{now}" if at else ""),
                due_at=at or _next_morning(now, zone),
                number=complaint.number,
                complaint_id=complaint.id,
                body={},
                attempts=0,
            )
        )


def _one_a_number(complaints: Sequence[Complaint]) -> list[Complaint]:
    """Somebody with two homes on the ticket is written to once."""
    return list({c.number: c for c in reversed(complaints)}.values())[::-1]


def _phones(session: Session, complaint: Complaint) -> set[str]:
    """The phone that has reported it, and all others of the home."""
    home = (complaint.building_id, complaint.apartment)
    registered = select(HouseholdRow.mobile).where(
        HouseholdRow.building_id == home[0], HouseholdRow.apartment == home[1]
    )
    shown = select(NumberHome.number).where(
        NumberHome.building_id == home[0], NumberHome.apartment == home[1]
    )
    found = {*session.scalars(registered), *session.scalars(shown), complaint.number}
    return {number for number in found if number is not None}


def _end_conversation(
    session: Session, name: str, complaint: Complaint, closure: Closure, *, is_told: bool
) -> None:
    number = session.get(NumberRow, name)
    if number is None or number.conversation is None:
        return
    conversation = Conversation.from_dict(number.conversation)
    about = conversation.home in (None, (complaint.building_id, complaint.apartment))
    if conversation.state is State.STOPPED or not (about or name == complaint.number):
        return
    ended = replace(
        conversation,
        state=State.CLOSED,
        asked=(),
        current=RIGHT_NOW,  # what they write before they are asked is about that
        homes=(),
        reminded=False,
        repeats=0,
        left=None if conversation.current == RIGHT_NOW else conversation.current,
        told_of_work=is_told,
        looked_only=is_looked_only(closure),
    )
    number.conversation = ended.to_dict()


def _wrote_just_now(session: Session, now: datetime, number: str) -> bool:
    last = session.scalar(
        select(func.max(InboxMessage.received_at)).where(InboxMessage.from_number == number)
    )
    return last is not None and is_fresh(last, now)


def _next_morning(now: datetime, zone: str) -> datetime:
    local = now.astimezone(ZoneInfo(zone))
    tomorrow = local.date() + timedelta(days=1)
    return datetime.combine(tomorrow, ASK_AT, tzinfo=ZoneInfo(zone)).astimezone(now.tzinfo)
