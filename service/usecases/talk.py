"""One step of a conversation: what the rules need to know, and what follows from their answer."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from rules.asking.conversation import Conversation, Situation, State, Step, Timer
from rules.asking.questions import at_thermostat
from rules.asking.value import next_question
from rules.diagnosis import Diagnosis
from rules.model import ApartmentId, Kind, TopicId
from rules.plant import Plant
from service.store.tables import (
    Complaint,
    HouseholdRow,
    NumberRow,
    OutboxMessage,
    Ticket,
    TimerRow,
)
from service.usecases.alerts import raise_alert
from service.usecases.complaint_rows import facts_of
from service.usecases.due_words import due_words
from service.usecases.facts import evidence_from, known_topics
from service.usecases.ids import reference
from service.usecases.outgoing import Draft, Letter, take_back_waiting, write_outbox
from service.usecases.page_names import is_page
from service.usecases.plants import plant_of
from service.usecases.pressing import zone_of
from service.usecases.services import SmsRules
from service.usecases.ticket_rows import record_event

__all__ = ["Cause", "apply_step", "conversation_of", "number_row", "situation_of"]

# With this many other homes on the ticket one more answer teaches nothing, and none is revealed.
KNOWN_FROM_HOMES = 3
NEIGHBORS = TopicId("q_neigh")


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


def situation_of(
    session: Session,
    now: datetime,
    conversation: Conversation,
    complaint: Complaint | None,
    diagnosis: Diagnosis | None = None,
    *,
    on_page: bool = False,
) -> Situation:
    """What the rules need to know about the home and its ticket."""
    home_building = conversation.home[0] if conversation.home else None
    building_id = complaint.building_id if complaint is not None else home_building
    plant = plant_of(session, building_id)
    situation = Situation(building_name=plant.name if plant is not None else "", on_page=on_page)
    if complaint is None:
        return situation
    kinds = frozenset(Kind(k) for k in complaint.kinds)
    situation = replace(situation, kinds=kinds, unnamed=not kinds)
    ticket = session.get(Ticket, complaint.ticket_id) if complaint.ticket_id else None
    if ticket is not None:
        zone = zone_of(session, building_id)
        situation = replace(
            situation,
            reference=reference(ticket.id),
            respond_by_text=due_words(ticket.respond_by, now, zone, conversation.language),
            known_to_us=complaint.confirmed
            and _others(session, ticket, complaint) >= KNOWN_FROM_HOMES,
        )
    if not is_page(complaint.number):  # a page shows what was understood at all times
        facts = tuple(e.fact for e in evidence_from(facts_of(session, complaint)))
        situation = replace(situation, facts=facts)
    return _at_home(session, situation, plant, complaint, conversation, diagnosis)


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
    if taken.hand_to_person:
        if not cause.danger_told:  # the desk has been told of that already
            about = complaint.id if complaint is not None else None
            raise_alert(session, now, cause.alert, cause.message_id, complaint_id=about)
        if complaint is not None and complaint.ticket_id is not None:
            body = {"complaint": complaint.id, "message": cause.message_id, "why": cause.alert}
            record_event(session, now, complaint.ticket_id, "person", body)
    letter = Letter(
        to=number.number,
        timezone=zone_of(session, complaint.building_id if complaint else None),
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
        due_at = starts + timedelta(minutes=timer.minutes)
        _set_timer(session, now, number.number, timer, due_at, complaint, cause)
    return rows


def _at_home(
    session: Session,
    situation: Situation,
    plant: Plant | None,
    complaint: Complaint,
    conversation: Conversation,
    diagnosis: Diagnosis | None,
) -> Situation:
    if plant is None or all(a.id != complaint.apartment for a in plant.apartments):
        return situation
    home = plant.apartment(ApartmentId(str(complaint.apartment)))
    situation = replace(
        situation,
        emitter=home.emitter,
        heat_motor=home.valve is not None and home.valve.kind == "heat_motor",
        thermostat=home.thermostat is not None and home.thermostat.kind != "none",
    )
    if diagnosis is None or home.id not in diagnosis.causes:
        return situation
    facts = [e.fact for e in evidence_from(facts_of(session, complaint))]
    known = known_topics(facts)
    if _has_company(session, complaint):
        known |= {NEIGHBORS}  # other homes of the ticket have told us
    if not situation.thermostat:
        known |= at_thermostat()
    asked = frozenset(conversation.asked)
    question = next_question(diagnosis, home.id, known, asked)
    return replace(situation, next_question=question)


def _others(session: Session, ticket: Ticket, complaint: Complaint) -> int:
    """How many other homes have reported the same; who is not known to live there does not count.

    Else somebody could invent reports for some homes to find out whether one more has reported. The
    cold homes of a ticket do not know of a noise that may come from the same fault.
    """
    rows = session.execute(
        select(Complaint.apartment, Complaint.kinds)
        .where(Complaint.ticket_id == ticket.id, Complaint.closed_at.is_(None))
        .where(Complaint.confirmed, Complaint.apartment != complaint.apartment)
    )
    same = set(complaint.kinds)
    return len({apartment for apartment, kinds in rows if same.intersection(kinds)})


def _has_company(session: Session, complaint: Complaint) -> bool:
    """Whether another home stands on the same ticket."""
    ticket = session.get(Ticket, complaint.ticket_id) if complaint.ticket_id else None
    return ticket is not None and _others(session, ticket, complaint) > 0


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
