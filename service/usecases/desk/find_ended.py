"""A ticket by its short form, where it is not open any more: what a caller reads from an old text."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import Building, Ticket
from service.usecases.rows.ids import reference

__all__ = ["EndedTicket", "find_ended"]

_SHORT_FORM = re.compile(r"(?:t-)?([2-9a-z]{4})", re.IGNORECASE)
_MOST = 5


@dataclass(frozen=True, slots=True)
class EndedTicket:
    """A ticket that is closed, or that is part of another one now."""

    ticket: str
    reference: str
    building_name: str
    closed_at: datetime | None
    part_of: str | None  # the short form of the ticket that it was merged into


def find_ended(session: Session, said: str) -> tuple[EndedTicket, ...]:
    """Tickets of this short form that are not open, newest first; none if it is no short form."""
    short = _SHORT_FORM.fullmatch(said.strip())
    if short is None:
        return ()
    rows = session.execute(
        select(
            Ticket.id, Building.document["name"].as_string(), Ticket.closed_at, Ticket.merged_into
        )
        .outerjoin(Building, Building.id == Ticket.building_id)
        .where(Ticket.id.startswith(f"t_{short[1].lower()}"), Ticket.state != "open")
        .order_by(Ticket.opened_at.desc())
        .limit(_MOST)
    )
    return tuple(
        EndedTicket(
            ticket,
            reference(ticket),
            name or "Home not known yet",
            closed_at,
            reference(into) if into else None,
        )
        for ticket, name, closed_at, into in rows
    )
