"""One step of a conversation: what the rules need to know, and what follows from their answer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from rules.asking.conversation import Conversation, State, Step, Timer
from service.store.tables import (
    Complaint,
    HouseholdRow,
    NumberRow,
    OutboxMessage,
    TimerRow,
)
from service.usecases.rows.alerts import raise_alert
from service.usecases.rows.pressing import zone_of
from service.usecases.rows.quiet_hours import awake_at
from service.usecases.rows.services import SmsRules
from service.usecases.rows.ticket_rows import record_event
from service.usecases.sending.outgoing import (
    Draft,
    Letter,
    take_back_questions,
    take_back_waiting,
    write_outbox,
)

__all__ = ["Cause", "apply_step", "conversation_of", "number_row"]


@dataclass(frozen=True, slots=True)
class Cause:
    """What made the step happen: a text or a timer."""

    key: str  # unique, so that the same cause never sets the same timer twice
    message_id: str | None = None
    at_once: bool = False
    stops: bool = False
    danger_told: bool = False  # the leave-now text is already on its way
    silent: bool = False  # nothing is said but what safety demands
    alert: str = "wants a person"  # what the desk is told when the step needs a person


def number_row(session: Session, now: datetime, number: str) -> NumberRow:
    """What we know of a number; a new row for a number never heard of."""
    row = session.get(NumberRow, number)
    if row is None:
        row = NumberRow(number=number, updated_at=now)
        session.add(row)
        session.flush()
    return row


def conversation_of(session: Session, row: NumberRow) -> Conversation:
    """The conversation with a number, in the language its household asked for."""
    if row.conversation is not None:
        return Conversation.from_dict(row.conversation)
    registered = session.scalar(
        select(HouseholdRow.language).where(HouseholdRow.mobile == row.number).limit(1)
    )
    return Conversation(language=row.language or registered or "en")


def apply_step(
    session: Session,
    now: datetime,
    sms: SmsRules,
    number: NumberRow,
    taken: Step,
    complaint: Complaint | None,
    cause: Cause,
) -> list[OutboxMessage]:
    """Remember the conversation, set its timers and write its texts to the outbox."""
    number.conversation = taken.conversation.to_dict()
    number.language = taken.conversation.language
    number.updated_at = now
    if taken.conversation.state is State.STOPPED and number.stopped_at is None:
        number.stopped_at = now
        take_back_waiting(session, now, number.number)
    elif taken.conversation.state is not State.STOPPED:
        number.stopped_at = None
    session.flush()
    put_anew = any(one.asks is not None for one in taken.says)
    take_back_questions(
        session, now, number.number, but=None if put_anew else taken.conversation.current
    )
    if taken.hand_to_person:
        if not cause.danger_told:  # the desk has been told of that already
            about = complaint.id if complaint is not None else None
            raise_alert(session, now, cause.alert, cause.message_id, complaint_id=about)
        if complaint is not None and complaint.ticket_id is not None:
            body = {"complaint": complaint.id, "message": cause.message_id, "why": cause.alert}
            record_event(session, now, complaint.ticket_id, "person", body)
    zone = zone_of(session, complaint.building_id if complaint else None)
    letter = Letter(
        to=number.number,
        timezone=zone,
        message_id=cause.message_id,
        complaint_id=complaint.id if complaint is not None else None,
        at_once=cause.at_once,
        although_stopped=cause.stops,
    )
    rows = write_outbox(session, now, sms, letter, _drafts(taken, cause))
    # Whoever is asked in the morning has from then on to answer; a check runs from now.
    asked_at = max((row.send_at for row in rows if row.asks is not None), default=now)
    for timer in taken.timers:
        starts = now if timer.purpose == "check" else asked_at
        due_at = starts + timedelta(minutes=timer.minutes) + _over_night(taken, asked_at, zone)
        _set_timer(session, now, number.number, timer, due_at, complaint, cause)
    return rows


def _over_night(taken: Step, asked_at: datetime, zone: str) -> timedelta:
    """How much later than else all that follows a question comes: nobody is reminded at night.

    In the morning it is looked whether there is still something to be reminded of.
    """
    minutes = next((t.minutes for t in taken.timers if t.purpose == "remind"), None)
    if minutes is None:
        return timedelta()
    reminded_at = asked_at + timedelta(minutes=minutes)
    return awake_at(reminded_at, zone) - reminded_at


def _set_timer(
    session: Session,
    now: datetime,
    number: str,
    timer: Timer,
    due_at: datetime,
    complaint: Complaint | None,
    cause: Cause,
) -> None:
    """A new timer takes the place of an earlier one of the same purpose."""
    session.execute(
        update(TimerRow)
        .where(TimerRow.number == number, TimerRow.purpose == timer.purpose)
        .where(TimerRow.done_at.is_(None))
        .values(done_at=now)
    )
    session.add(
        TimerRow(
            purpose=timer.purpose,
            key=f"{timer.purpose}:{cause.key}",
            due_at=due_at,
            number=number,
            complaint_id=complaint.id if complaint is not None else None,
            body={"topic": timer.topic} if timer.topic else {},
            attempts=0,
        )
    )


def _drafts(taken: Step, cause: Cause) -> tuple[Draft, ...]:
    says = [s for s in taken.says if not (cause.danger_told if s.urgent else cause.silent)]
    return tuple(Draft(s.text, _asks(s.asks), urgent=s.urgent) for s in says)


def _asks(asks: Any) -> dict[str, Any] | None:
    if asks is None:
        return None
    choices = [{"say": say, "means": means} for say, means in asks.choices]
    return {"topic": str(asks.topic), "choices": choices}
