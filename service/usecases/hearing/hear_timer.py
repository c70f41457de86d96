"""A timer is due: go on with the conversation, raise an alert again, or look at a building again."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.asking.conversation import RIGHT_NOW, Conversation, Heard, State, Step, step
from service.store.tables import Complaint, NumberRow, OutboxMessage, TimerRow
from service.usecases.desk.hold_ticket import HOLD, end_hold
from service.usecases.desk.situation import situation_of
from service.usecases.desk.taking_over import is_persons
from service.usecases.diagnosing.listen_on import LISTEN
from service.usecases.diagnosing.rediagnose import rediagnose_if_possible
from service.usecases.loading.page_names import is_page
from service.usecases.loading.whose_phone import is_theirs
from service.usecases.rows.alerts import raise_again
from service.usecases.rows.pressing import zone_of
from service.usecases.rows.quiet_hours import awake_at
from service.usecases.rows.services import SmsRules
from service.usecases.sending.talk import (
    Cause,
    apply_step,
    conversation_of,
    number_row,
)

__all__ = ["hear_timer"]

EVENTS = {
    "check": Heard.TIMER_CHECK,
    "remind": Heard.TIMER_REMIND,
    "close": Heard.TIMER_CLOSE,
    "repair_check": Heard.REPAIR_DONE,
}
# A reminder found this late, after a long standstill, would only puzzle people.
REMINDER_KEEPS = timedelta(hours=6)
# Between the first hour at which anybody writes and the one at which all are asked.
ASKED_ONCE = timedelta(hours=6)
OF_A_REPORT = frozenset({State.WHICH, State.ASKING, State.WAITING, State.READ_BACK})


def hear_timer(session: Session, sms: SmsRules, now: datetime, timer: TimerRow) -> None:
    """Take the step that the timer stands for."""
    if timer.purpose == HOLD:
        end_hold(session, now, timer)
        return
    if timer.purpose == LISTEN:
        rediagnose_if_possible(session, now, timer.body["building"])
        return
    if timer.purpose not in EVENTS:
        raise_again(session, now, timer)
        return
    if timer.number is None or _is_stale(timer, now):
        return
    number = number_row(session, now, timer.number)
    complaint = session.get(Complaint, timer.complaint_id) if timer.complaint_id else None
    if is_persons(complaint) or (complaint is not None and not is_theirs(session, complaint)):
        return
    event = EVENTS[timer.purpose]
    is_closed = complaint is not None and complaint.closed_at is not None
    if event is Heard.REPAIR_DONE:
        # Open again already: there is nothing to ask.
        if not is_closed or _asked_this_morning(session, now, number):
            return
    elif is_closed and _let_go(number):
        return
    taken = _step(session, now, number, complaint, event)
    cause = Cause(key=f"timer-{timer.id}", alert="does not answer")
    apply_step(session, now, sms, number, taken, complaint, cause)


def _step(
    session: Session,
    now: datetime,
    number: NumberRow,
    complaint: Complaint | None,
    event: Heard,
) -> Step:
    conversation = conversation_of(session, number)
    # Times are told as of when the text is read, which after nine in the evening is tomorrow.
    zone = zone_of(session, complaint.building_id if complaint is not None else None)
    situation = situation_of(
        session, awake_at(now, zone), conversation, complaint, on_page=is_page(number.number)
    )
    return step(conversation, event, situation)


def _asked_this_morning(session: Session, now: datetime, number: NumberRow) -> bool:
    """Whether a phone has just been asked whether all is right: of another report, or as it wrote."""
    asked = session.scalars(
        select(OutboxMessage.asks)
        .where(OutboxMessage.to_number == number.number, OutboxMessage.failed_at.is_(None))
        .where(OutboxMessage.created_at > now - ASKED_ONCE, OutboxMessage.asks.is_not(None))
    )
    return any(asks["topic"] == RIGHT_NOW for asks in asked if asks)


def _let_go(number: NumberRow) -> bool:
    """Whether a question is out of a report that is closed: nobody is reminded of it any more."""
    conversation = Conversation.from_dict(number.conversation) if number.conversation else None
    if conversation is None or conversation.state not in OF_A_REPORT:
        return False
    ended = replace(conversation, state=State.CLOSED, asked=(), current=None, homes=(), repeats=0)
    number.conversation = ended.to_dict()
    return True


def _is_stale(timer: TimerRow, now: datetime) -> bool:
    return timer.purpose == "remind" and now - timer.due_at > REMINDER_KEEPS
