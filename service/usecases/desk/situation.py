"""What the rules need to know to answer: the home, its report and ticket, what is best asked next."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from math import ceil

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from rules.asking.asks import PERSON_MINUTES
from rules.asking.conversation import Conversation, Situation
from rules.asking.danger_reply import must_leave
from rules.asking.meant import numbers_told
from rules.asking.questions import at_thermostat, questions
from rules.asking.troubles import is_blank, is_unnamed
from rules.choosing.value import next_question
from rules.diagnosis import Diagnosis
from rules.model import ApartmentId, Fact, Kind, TopicId
from rules.plant import Plant
from service.store.tables import Alert, Complaint, InboxMessage, NumberRow, Ticket, TimerRow
from service.usecases.desk.find_home import names_of
from service.usecases.loading.page_names import is_page
from service.usecases.loading.plants import plant_of
from service.usecases.rows.alerts import DANGER
from service.usecases.rows.carried_over import asked_before_repair, reopened_at
from service.usecases.rows.complaint_rows import facts_of
from service.usecases.rows.facts import evidence_from, known_topics
from service.usecases.rows.ids import reference
from service.usecases.rows.pressing import zone_of
from service.usecases.rows.quiet_hours import awake_at
from service.usecases.sending.due_words import act_by_words

__all__ = ["check_minutes", "situation_of"]

# With this many other homes on the ticket one more answer teaches nothing, and none is revealed.
KNOWN_FROM_HOMES = 3
NEIGHBORS = TopicId("q_neigh")
# So long after the time by which we meant to act whoever asks for news is waiting (common practice, no
# source): an hour, and no ticket is so pressing that it is opened late.
LATE = timedelta(hours=1)


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
    situation = Situation(
        building_name=plant.name if plant is not None else "",
        building_names=names_of(session, conversation.homes),
        on_page=on_page,
    )
    if complaint is None:
        return situation
    kinds = frozenset(Kind(k) for k in complaint.kinds)
    situation = replace(
        situation,
        kinds=kinds,
        reported=True,
        failed_repairs=len(reopened_at(session, complaint)),
        danger_open=tuple(str(d) for d in complaint.danger),
        leave_now=must_leave(complaint.danger) and _told_lately(session, now, complaint),
    )
    ticket = session.get(Ticket, complaint.ticket_id) if complaint.ticket_id else None
    if ticket is not None:
        zone = zone_of(session, building_id)
        situation = replace(
            situation,
            reference=reference(ticket.id),
            late=now > ticket.respond_by + LATE,
            respond_by_text=act_by_words(ticket.respond_by, now, zone, conversation.language),
            known_to_us=complaint.confirmed
            and _others(session, ticket, complaint) >= KNOWN_FROM_HOMES,
        )
    facts = tuple(e.fact for e in evidence_from(facts_of(session, complaint)))
    room_f, set_f = numbers_told(facts)
    unnamed = is_unnamed(kinds, facts)
    situation = replace(situation, room_f=room_f, set_f=set_f, unnamed=unnamed)
    if not is_page(complaint.number):  # a page shows what was understood at all times
        situation = replace(situation, facts=facts)
    return _at_home(session, now, situation, plant, complaint, facts, conversation, diagnosis)


def check_minutes(session: Session, now: datetime, number: NumberRow) -> int | None:
    """Minutes until the text that was promised when a check began; None where none is to come."""
    due = session.scalar(
        select(TimerRow.due_at)
        .where(TimerRow.number == number.number, TimerRow.purpose == "check")
        .where(TimerRow.done_at.is_(None), TimerRow.due_at > now)
        .order_by(TimerRow.due_at)
        .limit(1)
    )
    return None if due is None else ceil((due - now).total_seconds() / 60)


def _told_lately(session: Session, now: datetime, complaint: Complaint) -> bool:
    """Whether a danger was told of a report within the day that a person has for it."""
    told = (
        select(func.count())
        .select_from(Alert)
        .join(InboxMessage, InboxMessage.id == Alert.message_id)
        .where(InboxMessage.complaint_id == complaint.id, Alert.what.startswith(DANGER))
        .where(Alert.first_id.is_(None), Alert.at > now - timedelta(minutes=PERSON_MINUTES))
    )
    return bool(session.scalar(told))


def _at_home(
    session: Session,
    now: datetime,
    situation: Situation,
    plant: Plant | None,
    complaint: Complaint,
    facts: tuple[Fact, ...],
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
        thermostat=home.thermostat is not None
        and home.thermostat.kind != "none"
        and not is_blank(facts),
        batteries=home.thermostat is not None and home.thermostat.kind == "battery",
    )
    if diagnosis is None or home.id not in diagnosis.causes:
        return situation
    known = known_topics(facts)
    if _has_company(session, complaint):
        known |= {NEIGHBORS}  # other homes of the ticket have told us
    if not situation.thermostat:
        known |= at_thermostat()
    known |= asked_before_repair(session, complaint)
    if not situation.on_page:
        known |= _too_late_for(situation, now, plant.timezone)
    asked = frozenset(conversation.asked)
    question = next_question(diagnosis, home.id, known, asked)
    return replace(situation, next_question=question)


def _too_late_for(situation: Situation, now: datetime, timezone: str) -> frozenset[TopicId]:
    """The checks after whose wait nobody is texted until morning: the heat would be down all night."""
    waits = {
        topic: asked.wait_minutes(situation.emitter, heat_motor=situation.heat_motor) or 0.0
        for topic, asked in questions().items()
        if asked.is_check
    }
    due = {topic: now + timedelta(minutes=wait) for topic, wait in waits.items()}
    return frozenset(topic for topic, at in due.items() if awake_at(at, timezone) != at)


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
