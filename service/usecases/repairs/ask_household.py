"""Ask a household to turn its thermostat: the tenant as the second pair of hands."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Literal

from sqlalchemy import func, select, update
from sqlalchemy.orm import Session

from rules.asking.conversation import Conversation, Situation, State, Step
from rules.asking.questions import question
from rules.asking.turning import CHECK_OF, ask_from_afar, ask_while_watched
from rules.model import TopicId
from rules.plant import Apartment
from service.auth.who import Who
from service.errors import ConflictError, NotFoundError
from service.store.tables import (
    Complaint,
    InboxMessage,
    NumberRow,
    Ticket,
    TimerRow,
    TurnAsk,
)
from service.usecases.desk.situation import situation_of
from service.usecases.loading.plants import plant_of
from service.usecases.repairs.show_turns import (
    home_in,
    latest_ask,
    not_from_afar,
    stroke_of,
    why_not,
)
from service.usecases.rows.audit import note_act
from service.usecases.rows.pressing import zone_of
from service.usecases.rows.quiet_hours import awake_at
from service.usecases.rows.services import SmsRules
from service.usecases.rows.ticket_rows import record_event
from service.usecases.sending.talk import Cause, apply_step, conversation_of, number_row

__all__ = ["Direction", "ask_household"]

Direction = Literal["down", "up"]
# A second press within this time is the same wish.
SAME_WISH = timedelta(minutes=2)


def ask_household(
    session: Session,
    now: datetime,
    sms: SmsRules,
    who: Who,
    complaint_id: str,
    direction: Direction,
    *,
    watched: bool,
) -> str:
    """Text the household, in its language, to turn its thermostat; returns the ticket's id.

    ``watched`` is whether somebody stands at the valve and waits for it.

    Raises:
        NotFoundError: there is no such complaint, or it has no ticket or home.
        ConflictError: this household is not to be asked now; the message says why.
    """
    complaint = session.get(Complaint, complaint_id)
    ticket = session.get(Ticket, complaint.ticket_id) if complaint and complaint.ticket_id else None
    home = home_in(plant_of(session, complaint.building_id), complaint) if complaint else None
    if complaint is None or ticket is None or home is None:
        raise NotFoundError("there is no such report of a home")
    topic = TopicId(f"turn_{direction}")
    stored = topic if watched else CHECK_OF[topic]
    before = latest_ask(session, complaint.id)
    if _is_same(before, stored, now):
        return ticket.id
    refused = why_not(session, now, ticket, complaint, home)
    if refused is None and not watched:
        refused = not_from_afar(now, zone_of(session, ticket.building_id), home)
    if refused is not None:
        raise ConflictError(refused)
    if before is not None and before.ended_at is None:
        before.ended_at = now
    _ask(session, now, sms, who, (complaint, ticket, home), topic, watched=watched)
    body = {"complaint": complaint.id, "apartment": str(home.id), "turn": direction}
    record_event(session, now, ticket.id, "turn_asked", body)
    note_act(
        session,
        now,
        who,
        "household asked to turn",
        ticket.id,
        {"complaint": complaint.id, "turn": direction, "watched": watched},
    )
    return ticket.id


def _ask(
    session: Session,
    now: datetime,
    sms: SmsRules,
    who: Who,
    about: tuple[Complaint, Ticket, Apartment],
    topic: TopicId,
    *,
    watched: bool,
) -> None:
    complaint, ticket, home = about
    number = number_row(session, now, complaint.number)
    conversation = _at(conversation_of(session, number), complaint)
    situation = situation_of(session, now, conversation, complaint)
    taken = _step(conversation, situation, topic, watched=watched)
    _drop_timers(session, now, number)
    fresh = (
        awake_at(now, zone_of(session, ticket.building_id)) > now
    )  # why_not() let it pass: they wrote just now
    cause = Cause(key=f"turn:{complaint.id}:{now.isoformat()}", at_once=fresh)
    rows = apply_step(session, now, sms, number, taken, complaint, cause)
    if not rows:
        raise ConflictError("This household wants no texts. Call or knock.")
    check = question(CHECK_OF[topic])
    wait = check.wait_minutes(home.emitter, heat_motor=situation.heat_motor)
    session.add(
        TurnAsk(
            ticket_id=ticket.id,
            complaint_id=complaint.id,
            topic=topic if watched else check.id,
            asked_at=now,
            after_seq=session.scalar(select(func.max(InboxMessage.seq))) or 0,
            asked_by=who.account,
            outbox_id=rows[0].id,
            valve=str(home.valve.id) if home.valve else None,
            stroke_seconds=stroke_of(home),
            wait_minutes=wait,
            question_at=None if watched or wait is None else now + timedelta(minutes=wait),
        )
    )
    session.flush()


def _step(c: Conversation, s: Situation, topic: TopicId, *, watched: bool) -> Step:
    taken = ask_while_watched(c, topic) if watched else ask_from_afar(c, s, topic)
    if taken is None:
        raise ConflictError("A heated floor changes too slowly to tell from afar.")
    if c.state is State.PERSON:
        # A person is at it already, and the machine must not go on by itself: only the text is sent.
        return replace(taken, conversation=c, timers=())
    return taken


def _at(c: Conversation, complaint: Complaint) -> Conversation:
    """The conversation, about the home of this complaint."""
    home = (str(complaint.building_id), str(complaint.apartment))
    return c if c.home == home else replace(c, home=home, homes=(), asked=())


def _drop_timers(session: Session, now: datetime, number: NumberRow) -> None:
    """What was being waited for gives way; a reminder of another question would only confuse."""
    session.execute(
        update(TimerRow)
        .where(TimerRow.number == number.number, TimerRow.done_at.is_(None))
        .where(TimerRow.purpose.in_(("check", "remind", "close")))
        .values(done_at=now)
    )


def _is_same(before: TurnAsk | None, topic: str, now: datetime) -> bool:
    if before is None or before.ended_at is not None or before.topic != topic:
        return False
    return now - before.asked_at < SAME_WISH
