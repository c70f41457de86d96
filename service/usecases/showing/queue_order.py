"""The way through the queue: the ticket before, the one after, and the next that nobody has."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Row, or_, select
from sqlalchemy.orm import Session

from service.store.tables import Ticket

__all__ = ["neighbours", "next_to_take"]


def neighbours(session: Session, ticket_id: str) -> tuple[str | None, str | None]:
    """The tickets before and after it in the queue, without those on hold.

    A ticket that is held is taken where it stood before, so that whoever holds one comes to the next.
    """
    order = [row.id for row in _in_order(session, ticket_id)]
    at = order.index(ticket_id)
    return order[at - 1] if at else None, order[at + 1] if at + 1 < len(order) else None


def next_to_take(session: Session, ticket_id: str) -> str | None:
    """The first ticket after it that nobody has taken, else the first of all; None when none is."""
    rows = _in_order(session, ticket_id)
    at = [row.id for row in rows].index(ticket_id)
    free = (row.id for row in [*rows[at + 1 :], *rows[:at]] if row.assigned_to is None)
    return next(free, None)


def _in_order(session: Session, ticket_id: str) -> Sequence[Row[str, str | None]]:
    """Open tickets that are not on hold, and this one, most pressing first."""
    is_free = (Ticket.state == "open") & Ticket.held_until.is_(None)
    return session.execute(
        select(Ticket.id, Ticket.assigned_to)
        .where(or_(is_free, Ticket.id == ticket_id))
        .order_by(Ticket.danger.desc(), Ticket.respond_by, Ticket.opened_at, Ticket.id)
    ).all()
