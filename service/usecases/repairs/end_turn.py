"""Whoever watched has seen what the valve did: a reading, and the household gets its thermostat back."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from sqlalchemy import func, select, update
from sqlalchemy.orm import Session

from rules.asking.turning import CHECK_OF, set_back
from service.auth.who import Who
from service.errors import ConflictError, NotFoundError
from service.store.tables import Complaint, InboxMessage, Ticket, TimerRow, TurnAsk
from service.usecases.diagnosing.record_finding import Finding, record_finding
from service.usecases.rows.audit import note_act
from service.usecases.rows.quiet_hours import is_fresh
from service.usecases.rows.services import SmsRules
from service.usecases.rows.ticket_rows import record_event
from service.usecases.sending.talk import Cause, apply_step, conversation_of, number_row

__all__ = ["Seen", "end_turn"]

Seen = Literal["moved", "not_moved", "unseen"]
CHECK = "stroke_time"
NEVER_SECONDS = 3600.0  # what that check writes for a valve that does not move


def end_turn(
    session: Session, now: datetime, sms: SmsRules, who: Who, ask_id: int, seen: Seen
) -> str:
    """Keep what was seen as a reading and tell the household that it is over; returns the ticket's id.

    Raises:
        NotFoundError: no such turn was asked for.
        ConflictError: it is over already.
    """
    ask = session.get(TurnAsk, ask_id)
    if ask is None:
        raise NotFoundError("no such turn was asked for")
    if ask.ended_at is not None:
        raise ConflictError("what the valve did has been noted already")
    ask.ended_at, ask.seen = now, seen
    complaint = session.get_one(Complaint, ask.complaint_id)
    ticket_id = complaint.ticket_id or ask.ticket_id
    body = {"complaint": ask.complaint_id, "apartment": complaint.apartment, "seen": seen}
    record_event(session, now, ticket_id, "turn_seen", body)
    note_act(session, now, who, "turn watched", ticket_id, {"turn": ask.id, "seen": seen})
    _thank(session, now, sms, ask, complaint)
    return _keep(session, now, ask, ticket_id, seen)


def _keep(session: Session, now: datetime, ask: TurnAsk, ticket_id: str, seen: Seen) -> str:
    ticket = session.get_one(Ticket, ticket_id)
    if seen == "unseen" or ask.valve is None or ticket.state != "open":
        return ticket_id
    calling = ask.topic.endswith("up")
    if seen == "moved":
        healthy = Finding(check=CHECK, component=ask.valve, calling=calling, outcome="healthy")
        return record_finding(session, now, ticket_id, healthy).id
    never = Finding(
        check=CHECK, component=ask.valve, value=NEVER_SECONDS, unit="s", calling=calling
    )
    return record_finding(session, now, ticket_id, never).id


def _thank(
    session: Session, now: datetime, sms: SmsRules, ask: TurnAsk, complaint: Complaint
) -> None:
    """The household may turn it as it likes; what was to be asked later is not asked any more."""
    number = number_row(session, now, complaint.number)
    taken = set_back(conversation_of(session, number))
    ours = {*CHECK_OF, *CHECK_OF.values()}
    if conversation_of(session, number).current in ours:
        session.execute(
            update(TimerRow)
            .where(TimerRow.number == number.number, TimerRow.done_at.is_(None))
            .where(TimerRow.purpose.in_(("check", "close")))
            .values(done_at=now)
        )
    cause = Cause(key=f"turn-over:{ask.id}", at_once=_wrote_just_now(session, now, ask))
    apply_step(session, now, sms, number, taken, complaint, cause)


def _wrote_just_now(session: Session, now: datetime, ask: TurnAsk) -> bool:
    last = session.scalar(
        select(func.max(InboxMessage.received_at)).where(
            InboxMessage.complaint_id == ask.complaint_id
        )
    )
    return last is not None and is_fresh(last, now)
