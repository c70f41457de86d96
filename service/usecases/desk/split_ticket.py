"""Some complaints of a ticket are another thing to fix: they get a ticket that stays alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from service.auth.who import Who
from service.errors import ConflictError, InvalidError, PointedError
from service.usecases.diagnosing.regrouping import homes_in_words, pin_to, regrouping, same_home
from service.usecases.rows.act_rows import Deed, ticket_to_act_on
from service.usecases.rows.ids import reference
from service.usecases.rows.ticket_rows import open_complaints_of, open_ticket

__all__ = ["split_ticket"]


def split_ticket(
    session: Session,
    now: datetime,
    who: Who,
    ticket_id: str,
    version: int,
    complaints: Sequence[str],
) -> str:
    """Give complaints, with all others of their homes, a ticket of their own; returns its id.

    Raises:
        NotFoundError: there is no such ticket.
        InvalidError: none is named, or one is not an open complaint of the ticket.
        ConflictError: nothing would be left on the ticket, its home is not known, it is closed, or
            it has changed since the person looked.
    """
    ticket = ticket_to_act_on(session, ticket_id, version)
    there = open_complaints_of(session, ticket.id)
    named = [c for c in there if c.id in set(complaints)]
    if not named or len(named) < len(set(complaints)):
        wrong = PointedError(
            "/complaints", "must name open complaints of this ticket, one at least"
        )
        raise InvalidError("the split is refused", (wrong,))
    if ticket.building_id is not None:
        named = same_home(session, named)
    if len(named) >= len(there):
        left = f"nothing would be left on {reference(ticket.id)}"
        raise ConflictError(f"{left}: leave one home on it at least")
    deed = Deed("split", "ticket split", "", noted={"complaints": [c.id for c in named]})
    with regrouping(session, now, who, ticket, deed) as act:
        # Times by law are counted from the first word of it, not from the split.
        first = min(c.opened_at for c in named)
        new = open_ticket(session, now, ticket.building_id, first)
        new.alone = True
        pin_to(session, now, new, named, f"split off by {who.name}")
        act.others = (new.id,)
        says = f"{homes_in_words(named)} split off to {reference(new.id)}"
        act.deed = Deed(deed.act, deed.phrase, says, noted={**deed.noted, "to": new.id})
    return new.id
