"""A timer is due: go on with the conversation, raise an alert again, or look at a building again."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from rules.asking.conversation import Heard, Step, step
from service.store.tables import Complaint, NumberRow, TimerRow
from service.usecases.desk.hold_ticket import HOLD, end_hold
from service.usecases.desk.situation import situation_of
from service.usecases.desk.taking_over import is_persons
from service.usecases.diagnosing.listen_on import LISTEN
from service.usecases.diagnosing.rediagnose import rediagnose_if_possible
from service.usecases.loading.page_names import is_page
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
    if is_persons(complaint):
        return
    event = EVENTS[timer.purpose]
    if event is Heard.REPAIR_DONE and (complaint is None or complaint.closed_at is None):
        return  # open again already: there is nothing to ask
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


def _is_stale(timer: TimerRow, now: datetime) -> bool:
    return timer.purpose == "remind" and now - timer.due_at > REMINDER_KEEPS
