"""A home is cold, and the part that it lives by was repaired an hour ago: it is still warming up.

Theory of operation
-------------------
Rooms follow a repair by hours. Who writes in that time, on the ticket or for the first time, has the
trouble that was just repaired and needs no visit: it is told until when to wait, and asked then whether
all is right. So is a report from before the repair whose home is known only after it. A radiator that is
cold an hour after the repair, or a room that is cold when it should be warm and nobody has called it
right, says that the repair did not hold: the ticket is open again.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.asking.conversation import State
from rules.asking.sayings import say
from rules.diagnosis.after_work import shared_by
from rules.heat.rewarming import rewarming_hours
from rules.model import ApartmentId, EmitterHeat, Kind
from service.store.tables import (
    Closure,
    Complaint,
    FactRow,
    OutboxMessage,
    Ticket,
    TicketEvent,
)
from service.usecases.diagnosing.not_held import last_closure, open_again_after_work
from service.usecases.hearing.turn import Turn, Warming
from service.usecases.loading.plants import plant_of
from service.usecases.rows.alerts import raise_alert
from service.usecases.rows.complaint_rows import add_reading, end_complaint, facts_of
from service.usecases.rows.pressing import care_of, zone_of
from service.usecases.rows.quiet_hours import awake_at, is_fresh
from service.usecases.rows.services import SmsRules
from service.usecases.rows.ticket_rows import move_complaints
from service.usecases.sending.after_repair import ask_tomorrow
from service.usecases.sending.due_words import due_words
from service.usecases.sending.outgoing import Draft, Letter, write_outbox

__all__ = ["join_repair", "tell_to_wait", "waits_for_warmth"]

HEAT = frozenset({Kind.TOO_COLD.value, Kind.NO_HOT_WATER.value})
# What is cold a day after a repair is not cold from before it (common practice, no source).
OF_THE_REPAIR = timedelta(hours=24)
# Water is back in a radiator, and a room falls no more, within the hour (common practice, no source).
RADIATORS_TAKE = timedelta(hours=1)
FALLS_F = 1.0
# Under this a person looks after who waits, sooner where somebody at risk lives (common practice, no
# source).
LOOKED_AFTER_F, AT_RISK_F = 58.0, 64.0
WAITS_IN_THE_COLD = "waits in the cold after a repair"
WHY = "wrote in the hours after the repair, in which homes warm up"
NOT_HELD = "lives by what was repaired, and nobody has called that right"


def waits_for_warmth(turn: Turn, repaired: Complaint) -> bool:
    """Whether a home of a shared repair writes "still cold" too soon after it; noted in the turn."""
    closure = last_closure(turn.session, repaired.ticket_id)
    plant = plant_of(turn.session, repaired.building_id)
    if closure is None or closure.fault is None or plant is None or turn.dangers:
        return False
    if turn.conversation.state is State.REPAIRED or HEAT.isdisjoint(repaired.kinds):
        return False
    if not shared_by(plant, closure.component) or not _is_warming(turn, closure, repaired):
        return False
    turn.warming = Warming(closure, repaired, _until(turn, closure))
    return True


def join_repair(turn: Turn) -> None:
    """Bring a new report of a home that lives by a part just repaired to the ticket of that repair."""
    complaint = turn.complaint
    if complaint is None or complaint.building_id is None or not (turn.opened or turn.placed):
        return
    kinds = set(complaint.kinds)
    if turn.dangers or complaint.danger or not kinds or kinds - HEAT:
        return
    found = _fresh_repair(turn.session, turn.now, complaint)
    if found is None:
        return
    ticket, closure = found
    rows = facts_of(turn.session, complaint)
    told = min((row.at for row in rows), default=turn.said.at)
    is_older = turn.said.is_before(closure.closed_at) or told < closure.closed_at
    is_warming = is_older or _is_warming(turn, closure, complaint)
    if not is_warming and _is_called_right(turn.session, ticket, closure):
        return
    why = WHY if is_warming else NOT_HELD
    move_complaints(turn.session, turn.now, ticket, [complaint], why)
    if is_warming:
        turn.warming = Warming(closure, complaint, max(_until(turn, closure), turn.now))
    else:
        open_again_after_work(turn.session, turn.now, ticket, complaint)


def tell_to_wait(turn: Turn, sms: SmsRules, warming: Warming) -> list[OutboxMessage]:
    """Say until when to wait, in the home's language, and ask then; or ask at once."""
    session, now, complaint = turn.session, turn.now, warming.complaint
    zone = zone_of(session, complaint.building_id)
    if complaint.closed_at is None:
        end_complaint(session, now, complaint, "fixed")
    else:
        _keep_what_is_told(turn, complaint)
    if _needs_a_person(turn, complaint):
        raise_alert(session, now, WAITS_IN_THE_COLD, turn.message.id, complaint_id=complaint.id)
    turn.number.conversation = turn.conversation.to_dict()
    asked_at = awake_at(warming.until, zone)
    told = {turn.message.from_number}
    ask_tomorrow(session, now, zone, warming.closure, (complaint,), told, asked_at)
    if warming.until <= now:
        return []
    language = turn.conversation.language
    key = "warming_tap" if set(complaint.kinds) == {Kind.NO_HOT_WATER.value} else "warming"
    text = say(key, language, by=due_words(asked_at, now, zone, language))
    letter = Letter(
        to=turn.message.from_number,
        timezone=zone,
        message_id=turn.message.id,
        complaint_id=complaint.id,
        at_once=is_fresh(turn.message.received_at, now),
    )
    return write_outbox(session, now, sms, letter, (Draft(text),))


def _keep_what_is_told(turn: Turn, complaint: Complaint) -> None:
    """A temperature goes on record; it is no evidence about what comes next."""
    at, source = turn.said.at, turn.message.id
    add_reading(turn.session, turn.now, complaint, turn.reading, source=source, dangers=(), at=at)
    end_complaint(turn.session, turn.now, complaint, "fixed")


def _is_warming(turn: Turn, closure: Closure, complaint: Complaint) -> bool:
    if turn.said.at - closure.closed_at >= RADIATORS_TAKE and (
        turn.reading.emitter is EmitterHeat.COLD or _falls(turn, closure, complaint)
    ):
        return False
    return turn.now < _until(turn, closure)


def _falls(turn: Turn, closure: Closure, complaint: Complaint) -> bool:
    """Whether the room is colder than it was told since the repair."""
    room = turn.reading.room_temp
    facts = turn.session.scalars(
        select(FactRow)
        .where(FactRow.complaint_id == complaint.id, FactRow.at < turn.said.at)
        .where(FactRow.at >= closure.closed_at)
    )
    told = [f.body["room_f"] for f in facts if f.body["type"] == "room_read" and f.body["room_f"]]
    return room is not None and any(room.fahrenheit <= f - FALLS_F for f in told)


def _needs_a_person(turn: Turn, complaint: Complaint) -> bool:
    """Whether somebody at the desk should know that this home waits."""
    room = turn.reading.room_temp
    if care_of(turn.session, complaint):
        return room is None or room.fahrenheit < AT_RISK_F
    return room is not None and room.fahrenheit < LOOKED_AFTER_F


def _until(turn: Turn, closure: Closure) -> datetime:
    room = turn.reading.room_temp
    hours = rewarming_hours(None if room is None else room.fahrenheit)
    return closure.closed_at + timedelta(hours=hours)


def _fresh_repair(
    session: Session, now: datetime, complaint: Complaint
) -> tuple[Ticket, Closure] | None:
    """The latest repair of something that this home shares, of a trouble of its kind."""
    plant = plant_of(session, complaint.building_id)
    if plant is None:
        return None
    closures = session.execute(
        select(Ticket, Closure)
        .join(Closure, Closure.ticket_id == Ticket.id)
        .where(Ticket.building_id == complaint.building_id, Ticket.state == "closed")
        .where(Closure.closed_at > now - OF_THE_REPAIR, Closure.fault.is_not(None))
        .order_by(Closure.closed_at.desc())
    )
    for ticket, closure in closures:
        homes = shared_by(plant, closure.component)
        if ApartmentId(str(complaint.apartment)) in homes and _is_of_kind(
            complaint.kinds, _repaired_kinds(session, ticket)
        ):
            return ticket, closure
    return None


def _repaired_kinds(session: Session, ticket: Ticket) -> list[str]:
    complaints = session.scalars(select(Complaint).where(Complaint.ticket_id == ticket.id))
    return [kind for complaint in complaints for kind in complaint.kinds]


def _is_of_kind(kinds: Iterable[str], repaired: Iterable[str]) -> bool:
    return not HEAT.intersection(kinds).isdisjoint(repaired)


def _is_called_right(session: Session, ticket: Ticket, closure: Closure) -> bool:
    events = session.scalars(
        select(TicketEvent.id)
        .where(TicketEvent.ticket_id == ticket.id, TicketEvent.what == "confirmed")
        .where(TicketEvent.at >= closure.closed_at)
        .limit(1)
    )
    return events.first() is not None
