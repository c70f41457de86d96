"""Where things stand with turns of a thermostat that were asked for: asked, sent, answered, seen."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from rules.asking.questions import question
from rules.asking.turning import CHECK_OF
from rules.model import ApartmentId, TopicId
from rules.plant import Apartment, Plant, stroke_seconds
from service.store.tables import (
    Complaint,
    InboxMessage,
    NumberRow,
    OutboxMessage,
    Ticket,
    TurnAsk,
)
from service.usecases.diagnosing.record_finding import ticket_row
from service.usecases.loading.page_names import is_page
from service.usecases.loading.plants import plant_of
from service.usecases.repairs.turn_words import Turn, turn_says
from service.usecases.rows.pressing import zone_of
from service.usecases.rows.quiet_hours import awake_at, is_fresh
from service.usecases.rows.repair_views import TurnHome
from service.usecases.rows.ticket_rows import open_complaints_of
from service.usecases.rows.when_said import when_said

__all__ = ["home_in", "latest_ask", "not_from_afar", "show_turns", "stroke_of", "why_not"]

# Who closed the page or never came back to it leaves a turn open; it is over by itself after this long.
OVER_AFTER = timedelta(hours=3)
TURNED, CANNOT = "done", "cannot"


def show_turns(session: Session, now: datetime, ticket_id: str) -> tuple[TurnHome, ...]:
    """The homes of a ticket that may be asked to turn their thermostat, by name.

    Raises:
        NotFoundError: there is no such ticket.
    """
    ticket = ticket_row(session, ticket_id)
    plant = plant_of(session, ticket.building_id)
    found = ((c, home_in(plant, c)) for c in open_complaints_of(session, ticket.id))
    homes = [_home(session, now, ticket, c, home) for c, home in found if home is not None]
    return tuple(sorted(homes, key=lambda home: home.apartment))


def _home(
    session: Session, now: datetime, ticket: Ticket, complaint: Complaint, home: Apartment
) -> TurnHome:
    ask = latest_ask(session, complaint.id)
    shown = TurnHome(
        complaint=complaint.id,
        apartment=str(home.id),
        why_not=why_not(session, now, ticket, complaint, home),
        not_from_afar=not_from_afar(now, zone_of(session, ticket.building_id), home),
    )
    if ask is None:
        return shown
    turn = _turn(session, ask)
    return replace(
        shown,
        ask=ask.id,
        direction="down" if turn.down else "up",
        watched=ask.topic in CHECK_OF,
        over=ask.ended_at is not None or now - ask.asked_at > OVER_AFTER,
        says=turn_says(
            turn, now, zone_of(session, ticket.building_id), page=is_page(complaint.number)
        ),
        stroke_ends_at=turn.stroke_ends_at,
    )


def why_not(
    session: Session,
    now: datetime,
    ticket: Ticket,
    complaint: Complaint,
    home: Apartment,
) -> str | None:
    """Why this household is not to be asked now; None if it may be.

    By day anybody may be asked. At night only who wrote minutes ago: nobody is woken for a check, and
    a text that waited for the morning would find no technician at the valve.
    """
    number = session.get(NumberRow, complaint.number)
    if ticket.state != "open" or complaint.closed_at is not None:
        return "The report of this home is closed."
    if ticket.danger or complaint.danger:
        return "Danger was reported: nobody there is asked to do anything."
    if number is not None and number.stopped_at is not None:
        return "This household wants no texts. Call or knock."
    if home.thermostat is None or home.thermostat.kind == "none":
        return "This home has no thermostat."
    asleep = awake_at(now, zone_of(session, ticket.building_id)) > now
    if asleep and not is_page(complaint.number) and not _wrote_just_now(session, now, complaint):
        return (
            "It is night. From 8 am on, or within ten minutes after they have written, "
            "this household can be asked."
        )
    return None


def not_from_afar(now: datetime, zone: str, home: Apartment) -> str | None:
    """Why nothing would be learned without somebody at the valve; None if something would."""
    heat_motor = home.valve is not None and home.valve.kind == "heat_motor"
    wait = question("q_down").wait_minutes(home.emitter, heat_motor=heat_motor)
    if wait is None:
        return "A heated floor changes too slowly to tell from afar."
    asked_at = now + timedelta(minutes=wait)
    if awake_at(asked_at, zone) > asked_at:
        return "It is too late today: what they feel would have to be asked at night."
    return None


def home_in(plant: Plant | None, complaint: Complaint) -> Apartment | None:
    """The complaint's apartment, if the building file has it."""
    if plant is None or complaint.apartment is None:
        return None
    known = {a.id for a in plant.apartments}
    home = ApartmentId(complaint.apartment)
    return plant.apartment(home) if home in known else None


def stroke_of(home: Apartment) -> int | None:
    """The longest the home's valve takes to open or shut, in seconds; None where there is none."""
    return stroke_seconds(home.valve.kind) if home.valve is not None else None


def latest_ask(session: Session, complaint_id: str) -> TurnAsk | None:
    """The last turn that a household was asked for."""
    return session.scalars(
        select(TurnAsk)
        .where(TurnAsk.complaint_id == complaint_id)
        .order_by(TurnAsk.id.desc())
        .limit(1)
    ).first()


def _wrote_just_now(session: Session, now: datetime, complaint: Complaint) -> bool:
    last = session.scalar(
        select(func.max(InboxMessage.received_at)).where(
            InboxMessage.from_number == complaint.number, InboxMessage.via != "web"
        )
    )
    return last is not None and is_fresh(last, now)


def _turn(session: Session, ask: TurnAsk) -> Turn:
    answers = _answers(session, ask)
    check = CHECK_OF.get(TopicId(ask.topic), TopicId(ask.topic))
    return Turn(
        ask=ask,
        text=session.get_one(OutboxMessage, ask.outbox_id),
        turned_at=_first(answers, ask.topic, TURNED),
        cannot_at=_first(answers, ask.topic, CANNOT),
        felt=_felt(answers, check),
        wrote=_wrote(answers),
    )


def _answers(session: Session, ask: TurnAsk) -> list[InboxMessage]:
    """What has come since, and was not written before."""
    came = session.scalars(
        select(InboxMessage)
        .where(InboxMessage.complaint_id == ask.complaint_id)
        .where(InboxMessage.seq > ask.after_seq)
        .where(InboxMessage.received_at <= ask.asked_at + OVER_AFTER)
        .order_by(InboxMessage.seq)
    )
    return [m for m in came if not when_said(session, m).is_before(ask.asked_at)]


def _first(answers: Iterable[InboxMessage], topic: str, means: str) -> datetime | None:
    return next((m.received_at for m in answers if _answer(m) == (topic, means)), None)


def _answer(message: InboxMessage) -> tuple[str, str] | None:
    found = (message.reading or {}).get("answer")
    return (str(found["topic"]), str(found["means"])) if found else None


def _felt(answers: Iterable[InboxMessage], check: str) -> str | None:
    given = [a[1] for a in map(_answer, answers) if a is not None and a[0] == check]
    labels = {choice.means: choice.label.en for choice in question(check).choices}
    return labels.get(given[-1], "not sure") if given else None


def _wrote(answers: list[InboxMessage]) -> str | None:
    last = answers[-1] if answers else None
    return last.text if last is not None and _answer(last) is None else None
