"""A person sets the time by which somebody must act.

It outranks the computed time, whose reasons stay on the ticket, until it is undone or set again. A
danger is never put off: there the earlier of the two counts (``ticket_rows``).
"""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from service.auth.who import Who
from service.errors import ConflictError, InvalidError, PointedError
from service.usecases.diagnosing.rediagnose import diagnose_again
from service.usecases.rows.act_rows import Deed, one_line, store_act, ticket_to_act_on
from service.usecases.rows.act_words import when_words
from service.usecases.rows.ids import reference

__all__ = ["change_respond_by"]

FURTHEST = timedelta(days=90)


def change_respond_by(
    session: Session,
    now: datetime,
    who: Who,
    ticket_id: str,
    version: int,
    at: datetime,
    reason: str,
) -> str:
    """Set the time, with the reason that is shown beside it; returns the ticket's id.

    Raises:
        NotFoundError: there is no such ticket.
        ConflictError: it is a danger and the time is later than its own; it is closed; or it has
            changed since the person looked.
        InvalidError: the time has passed or is too far off, or there is no reason.
    """
    ticket = ticket_to_act_on(session, ticket_id, version)
    why = one_line(reason, "/reason")
    if not now <= at <= now + FURTHEST:
        wrong = PointedError("/at", f"must lie after now and within {FURTHEST.days} days")
        raise InvalidError("the time is refused", (wrong,))
    if ticket.danger and at > ticket.respond_by:
        raise ConflictError(f"{reference(ticket.id)} is a danger; its time can only be earlier")
    later = at > ticket.respond_by
    key = f"ticket/{ticket.id}/respond_by_set"
    before = {key: ticket.respond_by_set}
    was = ticket.respond_by
    ticket.respond_by_set = {"at": at.isoformat(), "reason": why, "by": who.name}
    session.flush()
    diagnose_again(session, now, ticket)
    when = when_words(session, ticket.building_id, at)
    deed = Deed(
        "respond_by",
        "respond-by changed",
        f"To be acted on by {when}, {'later' if later else 'earlier'} than before: {why}",
        before=before,
        after={key: ticket.respond_by_set},
        more={"was": was.isoformat()},
        noted={"at": at.isoformat(), "was": was.isoformat()},
    )
    store_act(session, now, who, ticket, deed)
    return ticket.id
