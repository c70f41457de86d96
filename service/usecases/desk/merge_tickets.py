"""Two tickets are one thing to fix: the complaints of both stay together from now on."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from service.auth.who import Who
from service.errors import ConflictError
from service.store.tables import Ticket
from service.usecases.diagnosing.regrouping import homes_in_words, pin_to, regrouping
from service.usecases.rows.act_rows import Deed, open_ticket_row, ticket_to_act_on
from service.usecases.rows.ids import reference
from service.usecases.rows.ticket_rows import open_complaints_of

__all__ = ["merge_tickets"]


def merge_tickets(
    session: Session, now: datetime, who: Who, ticket_id: str, version: int, into: str
) -> str:
    """Bring all complaints of a ticket to another and pin those of both there; returns the other.

    Raises:
        NotFoundError: there is no such ticket.
        ConflictError: one is closed or a danger, or they belong to different buildings; or the
            ticket has changed since the person looked.
    """
    ticket = ticket_to_act_on(session, ticket_id, version)
    other = open_ticket_row(session, into)
    _check(ticket, other)
    moved = open_complaints_of(session, ticket.id)
    says = f"{reference(ticket.id)} merged into {reference(other.id)} ({homes_in_words(moved)})"
    deed = Deed("merge", "tickets merged", says, noted={"ticket": ticket.id, "into": other.id})
    with regrouping(session, now, who, other, deed) as act:
        act.others = (ticket.id,)
        together = [*open_complaints_of(session, other.id), *moved]
        pin_to(session, now, other, together, f"merged by {who.name}")
        other.alone = False
    return other.id


def _check(ticket: Ticket, other: Ticket) -> None:
    if ticket.id == other.id:
        raise ConflictError("a ticket cannot be merged with itself: choose another one")
    if ticket.building_id != other.building_id:
        raise ConflictError("the two tickets belong to different buildings")
    for one in (ticket, other):
        if one.danger:
            raise ConflictError(f"{reference(one.id)} is a danger, which has a ticket of its own")
