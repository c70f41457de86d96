"""Say who takes care of a ticket."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from service.auth.who import Who
from service.usecases.rows.act_rows import Deed, one_line, store_act, ticket_to_act_on

__all__ = ["assign_ticket"]

LONGEST_NAME = 100


def assign_ticket(
    session: Session, now: datetime, who: Who, ticket_id: str, version: int, to: str | None
) -> str:
    """Give the ticket to somebody, by login or any name, or to nobody; returns its id.

    Raises:
        NotFoundError: there is no such ticket.
        ConflictError: it is closed, or has changed since the person looked.
        InvalidError: the name is empty or too long.
    """
    ticket = ticket_to_act_on(session, ticket_id, version)
    name = one_line(to, "/to", LONGEST_NAME) if to is not None else None
    key = f"ticket/{ticket.id}/assigned_to"
    deed = Deed(
        "assign",
        "ticket assigned",
        f"Assigned to {name}" if name is not None else "Assigned to nobody",
        before={key: ticket.assigned_to},
        after={key: name},
    )
    ticket.assigned_to = name
    store_act(session, now, who, ticket, deed)
    return ticket.id
