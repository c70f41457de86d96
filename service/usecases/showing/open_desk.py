"""What the desk's page of a ticket shows besides the ticket: its neighbours, talk and forecast."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import case, func, select
from sqlalchemy.orm import Session

from service.store.tables import Account, Complaint, HouseholdRow, Ticket
from service.usecases.desk.end_danger import DangerEnd, danger_end
from service.usecases.desk.place_by_person import buildings_by_name
from service.usecases.desk.write_household import phone_of
from service.usecases.rows.act_views import ActLine, ConversationView
from service.usecases.rows.ids import reference
from service.usecases.rows.views import TicketView
from service.usecases.showing.queue_order import neighbours
from service.usecases.showing.show_acts import show_acts
from service.usecases.showing.show_conversation import show_conversation
from service.usecases.showing.show_forecast import ForecastView, show_forecast
from service.usecases.showing.show_ticket import show_ticket
from service.usecases.showing.watch_desk import desk_stamp
from service.usecases.staff.reveal_number import ends_in

__all__ = ["Colleague", "DeskTicket", "LeftBehind", "open_desk"]


@dataclass(frozen=True, slots=True)
class Colleague:
    """Somebody a ticket can be given to, and what they carry already."""

    login: str
    name: str
    tickets: int = 0
    here: int = 0  # of these in the same building


@dataclass(frozen=True, slots=True)
class LeftBehind:
    """A ticket that was just dealt with, so that it can still be undone from the next one."""

    ticket: str
    reference: str
    acts: tuple[ActLine, ...]


@dataclass(frozen=True, slots=True)
class DeskTicket:
    """A ticket as the desk opens it."""

    view: TicketView
    stamp: str  # of the moment at which it was read
    conversations: tuple[ConversationView, ...]
    forecast: ForecastView | None  # where a home is cold
    before: str | None  # the ticket that is more pressing by one
    after: str | None
    colleagues: tuple[Colleague, ...]  # those it can be assigned to, the likeliest first
    endings: dict[str, str]  # how the number behind each complaint ends, for those who may ask
    care: Mapping[str, tuple[str, ...]] = field(
        default_factory=dict
    )  # by complaint: who is at risk
    buildings: tuple[tuple[str, str], ...] = ()  # (id, name), where a home is not known yet
    danger_end: DangerEnd | None = None  # how its danger can end, where it has one
    left: LeftBehind | None = None  # the ticket that was acted on before this one came up


def open_desk(session: Session, now: datetime, ticket_id: str, came_from: str = "") -> DeskTicket:
    """Everything on the page, read at one moment; ``came_from`` is the ticket dealt with before.

    Raises:
        NotFoundError: there is no such ticket.
    """
    stamp = desk_stamp(session)
    view = show_ticket(session, now, ticket_id)
    before, after = neighbours(session, ticket_id)
    return DeskTicket(
        view=view,
        stamp=stamp,
        conversations=tuple(show_conversation(session, c.complaint) for c in view.complaints),
        forecast=show_forecast(session, now, ticket_id) if "too_cold" in view.row.kinds else None,
        before=before,
        after=after,
        colleagues=_colleagues(session, view.row.building),
        endings=_endings(session, ticket_id),
        care=_care(session, ticket_id),
        buildings=() if all(c.apartment for c in view.complaints) else buildings_by_name(session),
        danger_end=danger_end(session, ticket_id) if view.row.danger else None,
        left=_left(session, came_from),
    )


def _endings(session: Session, ticket_id: str) -> dict[str, str]:
    rows = session.scalars(select(Complaint).where(Complaint.ticket_id == ticket_id))
    return {complaint.id: ends_in(phone_of(session, complaint)) for complaint in rows}


def _care(session: Session, ticket_id: str) -> dict[str, tuple[str, ...]]:
    """Who is more at risk in each home, by what its texts say and by what is on file for it."""
    rows = session.execute(
        select(Complaint.id, Complaint.care, HouseholdRow.care.label("on_file"))
        .outerjoin(
            HouseholdRow,
            (HouseholdRow.building_id == Complaint.building_id)
            & (HouseholdRow.apartment == Complaint.apartment),
        )
        .where(Complaint.ticket_id == ticket_id)
    )
    found: dict[str, set[str]] = {}
    for row in rows:
        found.setdefault(row.id, set()).update(str(c) for c in [*row.care, *(row.on_file or ())])
    return {complaint: tuple(sorted(care)) for complaint, care in found.items() if care}


def _colleagues(session: Session, building: str) -> tuple[Colleague, ...]:
    """Accounts in use, those with the building's other tickets first, then technicians, by name."""
    mine = func.sum(case((Ticket.building_id == building, 1), else_=0))
    carried = {
        name: (int(every), int(here or 0))
        for name, every, here in session.execute(
            select(Ticket.assigned_to, func.count(), mine)
            .where(Ticket.state == "open", Ticket.assigned_to.is_not(None))
            .group_by(Ticket.assigned_to)
        )
    }
    rows = session.execute(
        select(Account.login, Account.name)
        .where(Account.off_at.is_(None), Account.role.in_(("desk", "truck", "admin")))
        .order_by(Account.role != "truck", Account.name, Account.login)
    )
    found = (Colleague(login, name, *carried.get(name, (0, 0))) for login, name in rows)
    return tuple(sorted(found, key=lambda c: -c.here))


def _left(session: Session, came_from: str) -> LeftBehind | None:
    ticket = session.get(Ticket, came_from) if came_from else None
    if ticket is None:
        return None
    return LeftBehind(ticket.id, reference(ticket.id), show_acts(session, ticket.id))
