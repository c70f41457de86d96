"""What the desk's page of a ticket shows besides the ticket: its neighbours, talk and forecast."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from service.store.tables import Account, Complaint, Ticket
from service.usecases.act_views import ConversationView
from service.usecases.reveal_number import ends_in
from service.usecases.show_conversation import show_conversation
from service.usecases.show_forecast import ForecastView, show_forecast
from service.usecases.show_ticket import show_ticket
from service.usecases.views import TicketView
from service.usecases.watch_desk import desk_stamp

__all__ = ["DeskTicket", "open_desk"]


@dataclass(frozen=True, slots=True)
class DeskTicket:
    """A ticket as the desk opens it."""

    view: TicketView
    stamp: str  # of the moment at which it was read
    conversations: tuple[ConversationView, ...]
    forecast: ForecastView | None
    before: str | None  # the ticket that is more pressing by one
    after: str | None
    people: tuple[tuple[str, str], ...]  # (login, name) of those it can be assigned to
    endings: dict[str, str]  # how the number behind each complaint ends, for those who may ask


def open_desk(session: Session, now: datetime, ticket_id: str) -> DeskTicket:
    """Everything on the page, read at one moment.

    Raises:
        NotFoundError: there is no such ticket.
    """
    stamp = desk_stamp(session)
    view = show_ticket(session, now, ticket_id)
    before, after = _neighbours(session, ticket_id)
    return DeskTicket(
        view=view,
        stamp=stamp,
        conversations=tuple(show_conversation(session, c.complaint) for c in view.complaints),
        forecast=show_forecast(session, now, ticket_id),
        before=before,
        after=after,
        people=_people(session),
        endings=_endings(session, ticket_id),
    )


def _neighbours(session: Session, ticket_id: str) -> tuple[str | None, str | None]:
    """The tickets before and after it in the queue.

    One that is held is taken where it stood before, so that whoever goes through the queue and
    holds a ticket comes to the next one.
    """
    rows = session.execute(
        select(
            Ticket.danger, Ticket.held_until, Ticket.respond_by, Ticket.opened_at, Ticket.id
        ).where(or_(Ticket.state == "open", Ticket.id == ticket_id))
    ).all()
    places = {
        row.id: (
            not row.danger,
            row.held_until is not None and row.id != ticket_id,
            row.respond_by,
            row.opened_at,
            row.id,
        )
        for row in rows
    }
    order = sorted(places, key=lambda ticket: places[ticket])
    at = order.index(ticket_id)
    return order[at - 1] if at else None, order[at + 1] if at + 1 < len(order) else None


def _endings(session: Session, ticket_id: str) -> dict[str, str]:
    rows = session.execute(
        select(Complaint.id, Complaint.number).where(Complaint.ticket_id == ticket_id)
    )
    return {complaint: ends_in(number) for complaint, number in rows}


def _people(session: Session) -> tuple[tuple[str, str], ...]:
    """Accounts that are in use, by name."""
    rows = session.execute(
        select(Account.login, Account.name)
        .where(Account.off_at.is_(None), Account.role.in_(("desk", "truck", "admin")))
        .order_by(Account.name, Account.login)
    )
    return tuple((login, name) for login, name in rows)
