"""A timer of a conversation is due: go on with the conversation."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from rules.asking.conversation import Heard, Step, step
from service.store.tables import Complaint, NumberRow, TimerRow
from service.usecases.services import SmsRules
from service.usecases.talk import (
    Cause,
    apply_step,
    conversation_of,
    number_row,
    situation_of,
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


def hear_timer(session: Session, sms: SmsRules, now: datetime, timer: TimerRow) -> None:
    """Take the step that the timer stands for."""
    if timer.number is None or _is_stale(timer, now):
        return
    number = number_row(session, now, timer.number)
    complaint = session.get(Complaint, timer.complaint_id) if timer.complaint_id else None
    event = EVENTS[timer.purpose]
    if event is Heard.REPAIR_DONE and (complaint is None or complaint.closed_at is None):
        return  # open again already: there is nothing to ask
    taken = _step(session, now, number, complaint, event)
    cause = Cause(key=f"timer-{timer.id}")
    apply_step(session, now, sms, number, taken, complaint, cause)


def _step(
    session: Session,
    now: datetime,
    number: NumberRow,
    complaint: Complaint | None,
    event: Heard,
) -> Step:
    conversation = conversation_of(session, number)
    situation = situation_of(session, now, conversation, complaint)
    return step(conversation, event, situation)


def _is_stale(timer: TimerRow, now: datetime) -> bool:
    return timer.purpose == "remind" and now - timer.due_at > REMINDER_KEEPS
