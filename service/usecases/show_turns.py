"""Where things stand with turns of a thermostat that were asked for: asked, sent, answered, seen."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from rules.asking.questions import question
from rules.asking.turning import CHECK_OF
from rules.model import ApartmentId
from rules.plant import Apartment, Plant, stroke_seconds
from service.store.tables import (
    Complaint,
    InboxMessage,
    NumberRow,
    OutboxMessage,
    Ticket,
    TurnAsk,
)
from service.usecases.page_names import is_page
from service.usecases.plants import plant_of
from service.usecases.pressing import zone_of
from service.usecases.quiet_hours import awake_at, is_fresh
from service.usecases.record_finding import ticket_row
from service.usecases.ticket_rows import open_complaints_of

__all__ = ["Turn", "TurnHome", "home_in", "latest_ask", "show_turns", "stroke_of", "why_not"]

# Who closed the page or never came back to it leaves a turn open; it is over by itself after this long.
OVER_AFTER = timedelta(hours=3)
TURNED, CANNOT = "done", "cannot"


@dataclass(frozen=True, slots=True)
class Turn:
    """One turn that was asked for; times are instants, None what has not happened."""

    ask: int
    down: bool
    watched: bool
    asked_at: datetime
    due_at: datetime  # when the text may go out
    sent_at: datetime | None
    failed: bool
    turned_at: datetime | None  # the household says it is done
    cannot_at: datetime | None
    felt: str | None  # what the household says of the radiator, in words
    wrote: str | None  # their last text, if it answered nothing
    question_at: datetime | None
    stroke_ends_at: datetime | None
    over: bool
    seen: str | None  # moved, not_moved, unseen


@dataclass(frozen=True, slots=True)
class TurnHome:
    """A complaining home with its last turn, and why it cannot be asked now, if so."""

    complaint: str
    apartment: str
    valve: str | None
    stroke_seconds: int | None
    why_not: str | None
    on_page: bool  # no phone is known: what is asked stands on the home's page
    last: Turn | None


def show_turns(
    session: Session, now: datetime, ticket_id: str, *, watched: bool
) -> tuple[TurnHome, ...]:
    """The homes of a ticket that may be asked to turn their thermostat, by name.

    ``watched`` is whether whoever looks stands at the valve.

    Raises:
        NotFoundError: there is no such ticket.
    """
    ticket = ticket_row(session, ticket_id)
    plant = plant_of(session, ticket.building_id)
    homes = []
    for complaint in open_complaints_of(session, ticket.id):
        home = home_in(plant, complaint)
        if home is None:
            continue
        ask = latest_ask(session, complaint.id)
        homes.append(
            TurnHome(
                complaint=complaint.id,
                apartment=str(home.id),
                valve=str(home.valve.id) if home.valve else None,
                stroke_seconds=stroke_of(home),
                why_not=why_not(session, now, ticket, complaint, home, watched=watched),
                on_page=is_page(complaint.number),
                last=_turn(session, now, ask) if ask is not None else None,
            )
        )
    return tuple(sorted(homes, key=lambda home: home.apartment))


def why_not(
    session: Session,
    now: datetime,
    ticket: Ticket,
    complaint: Complaint,
    home: Apartment,
    *,
    watched: bool,
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
    if not watched and not question("q_down").can_be_asked(home.emitter):
        return "A heated floor changes too slowly to tell from afar."
    asleep = awake_at(now, zone_of(session, ticket.building_id)) > now
    if asleep and not is_page(complaint.number) and not _wrote_just_now(session, now, complaint):
        return (
            "It is night. From 8 am on, or within ten minutes after they have written, "
            "this household can be asked."
        )
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


def _turn(session: Session, now: datetime, ask: TurnAsk) -> Turn:
    text = session.get_one(OutboxMessage, ask.outbox_id)
    check = CHECK_OF.get(question(ask.topic).id, question(ask.topic).id)
    answers = _answers(session, ask)
    turned = _first(answers, ask.topic, TURNED) if ask.topic in CHECK_OF else None
    stroke = timedelta(seconds=ask.stroke_seconds or 0)
    return Turn(
        ask=ask.id,
        down=check == "q_down",
        watched=ask.topic in CHECK_OF,
        asked_at=ask.asked_at,
        due_at=text.send_at,
        sent_at=text.sent_at,
        failed=text.failed_at is not None,
        turned_at=turned,
        cannot_at=_first(answers, ask.topic, CANNOT) if ask.topic in CHECK_OF else None,
        felt=_felt(answers, check),
        wrote=_wrote(answers),
        question_at=ask.question_at or _asked_at(ask, turned),
        stroke_ends_at=turned + stroke if turned is not None and ask.stroke_seconds else None,
        over=ask.ended_at is not None or now - ask.asked_at > OVER_AFTER,
        seen=ask.seen,
    )


def _asked_at(ask: TurnAsk, turned: datetime | None) -> datetime | None:
    if turned is None or ask.wait_minutes is None:
        return None
    return turned + timedelta(minutes=ask.wait_minutes)


def _answers(session: Session, ask: TurnAsk) -> list[InboxMessage]:
    return list(
        session.scalars(
            select(InboxMessage)
            .where(InboxMessage.complaint_id == ask.complaint_id)
            .where(InboxMessage.received_at >= ask.asked_at)
            .where(InboxMessage.received_at <= ask.asked_at + OVER_AFTER)
            .order_by(InboxMessage.seq)
        )
    )


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
