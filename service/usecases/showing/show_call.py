"""What the desk sees while somebody is on the telephone: their home, its report, what to ask or say."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import (
    Building,
    Complaint,
    HouseholdRow,
    InboxMessage,
    NumberRow,
    OutboxMessage,
    Ticket,
)
from service.usecases.desk.find_home import home_on_file
from service.usecases.home.write_down_call import spoken_under
from service.usecases.loading.page_names import VIA_CALL, is_page, page_name
from service.usecases.loading.whose_phone import Home
from service.usecases.rows.complaint_rows import find_complaint
from service.usecases.rows.ids import reference
from service.usecases.showing.show_conversation import show_conversation

__all__ = ["CallView", "CalledAbout", "show_call"]


@dataclass(frozen=True, slots=True)
class CalledAbout:
    """The ticket that the home's open report is on."""

    ticket: str
    reference: str
    kinds: tuple[str, ...]
    respond_by: datetime
    danger: bool
    confirmed: bool  # else from a phone that is not on file: what is written down is the home's own


@dataclass(frozen=True, slots=True)
class CallView:
    """A home whose household calls."""

    building: str
    building_name: str
    timezone: str
    apartment: str
    language: str  # in which the household is written to
    by_text: bool  # what we say goes to a phone as well
    about: CalledAbout | None
    written_down: bool  # something has just been written down
    to_say: tuple[str, ...]  # what to say or ask now, in that language


def show_call(session: Session, building: str, apartment: str, said: str = "") -> CallView:
    """The home as it stands; ``said`` is the message that was just written down.

    Raises:
        InvalidError: there is no such home.
    """
    home = home_on_file(session, building, apartment)
    document = session.get_one(Building, building).document
    number = spoken_under(session, home)
    complaint = find_complaint(session, page_name(home), home)
    message = session.scalar(
        select(InboxMessage).where(InboxMessage.id == said, InboxMessage.via == VIA_CALL)
    )
    return CallView(
        building=building,
        building_name=str(document["name"]),
        timezone=str(document["timezone"]),
        apartment=home[1],
        language=_language(session, number, home),
        by_text=not is_page(number),
        about=_about(session, complaint or _unconfirmed(session, home)),
        written_down=message is not None,
        to_say=_answered(message) if message is not None else _asked(session, complaint),
    )


def _language(session: Session, number: str, home: Home) -> str:
    row = session.get(NumberRow, number)
    if row is not None and row.language:
        return row.language
    on_file = session.scalar(
        select(HouseholdRow.language)
        .where(HouseholdRow.building_id == home[0], HouseholdRow.apartment == home[1])
        .order_by(HouseholdRow.id)
        .limit(1)
    )
    return on_file or "en"


def _about(session: Session, complaint: Complaint | None) -> CalledAbout | None:
    ticket = session.get(Ticket, complaint.ticket_id) if complaint is not None else None
    if complaint is None or ticket is None:
        return None
    return CalledAbout(
        ticket=ticket.id,
        reference=reference(ticket.id),
        kinds=tuple(sorted(str(kind) for kind in complaint.kinds)),
        respond_by=ticket.respond_by,
        danger=bool(complaint.danger),
        confirmed=complaint.confirmed,
    )


def _unconfirmed(session: Session, home: Home) -> Complaint | None:
    """The home's open report from a phone that is not on file."""
    return session.scalars(
        select(Complaint)
        .where(Complaint.building_id == home[0], Complaint.apartment == home[1])
        .where(Complaint.closed_at.is_(None))
        .order_by(Complaint.opened_at.desc())
        .limit(1)
    ).first()


def _answered(message: InboxMessage) -> tuple[str, ...]:
    """What the machine answers to what was written down."""
    return tuple(str(reply["text"]) for reply in (message.answer or {}).get("replies", ()))


def _asked(session: Session, complaint: Complaint | None) -> tuple[str, ...]:
    """The question that is out, in the words in which it was asked; news may have followed it."""
    topic = show_conversation(session, complaint.id).waiting_for if complaint is not None else None
    if complaint is None or topic is None:
        return ()
    asked = session.execute(
        select(OutboxMessage.text, OutboxMessage.asks)
        .where(OutboxMessage.complaint_id == complaint.id, OutboxMessage.asks.is_not(None))
        .order_by(OutboxMessage.id.desc())
    )
    return next(((row.text,) for row in asked if row.asks["topic"] == topic), ())
