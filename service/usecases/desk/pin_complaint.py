"""A person says on which ticket a complaint belongs; grouping does not move it from there."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from service.auth.who import Who
from service.errors import ConflictError
from service.store.tables import Complaint, Ticket
from service.usecases.diagnosing.regrouping import homes_in_words, pin_to, regrouping, same_home
from service.usecases.rows.act_rows import (
    Deed,
    complaint_to_act_on,
    open_ticket_row,
    ticket_to_act_on,
)
from service.usecases.rows.ids import reference

__all__ = ["pin_complaint", "unpin_complaint"]


def pin_complaint(
    session: Session, now: datetime, who: Who, complaint_id: str, version: int, ticket_id: str
) -> str:
    """Pin a complaint, with all others of its home, to a ticket of its building; returns it.

    ``version`` is that of the ticket on which the complaint is now.

    Raises:
        NotFoundError: there is no such complaint or ticket.
        ConflictError: the complaint has ended or its home is not known; the ticket is closed or
            another building's; one of both is a danger; or its ticket has changed.
    """
    complaint = complaint_to_act_on(session, complaint_id)
    ticket = ticket_to_act_on(session, str(complaint.ticket_id), version)
    target = open_ticket_row(session, ticket_id)
    home = _home(session, complaint, ticket)
    _check(ticket, target)
    if target is ticket and all(c.pinned for c in home):
        raise ConflictError(f"it is pinned to {reference(ticket.id)} already")
    says = f"{homes_in_words(home)} pinned to {reference(target.id)}"
    deed = Deed(
        "pin",
        "complaint pinned",
        says,
        noted={"complaint": complaint.id, "to": target.id},
        complaint_id=complaint.id,
    )
    with regrouping(session, now, who, target, deed) as act:
        act.others = (ticket.id,)
        pin_to(session, now, target, home, f"pinned by {who.name}")
    return target.id


def unpin_complaint(
    session: Session, now: datetime, who: Who, complaint_id: str, version: int
) -> str:
    """Let grouping decide again about a complaint and its home; returns the ticket it is on then.

    Raises:
        NotFoundError: there is no such complaint.
        ConflictError: it is not pinned, it has ended, or its ticket has changed.
    """
    complaint = complaint_to_act_on(session, complaint_id)
    ticket = ticket_to_act_on(session, str(complaint.ticket_id), version)
    if not complaint.pinned:
        raise ConflictError("nobody has pinned it")
    home = _home(session, complaint, ticket)
    deed = Deed(
        "unpin",
        "complaint unpinned",
        f"{homes_in_words(home)} no longer pinned to {reference(ticket.id)}",
        noted={"complaint": complaint.id},
        complaint_id=complaint.id,
    )
    with regrouping(session, now, who, ticket, deed):
        for row in home:
            row.pinned = False
        ticket.alone = False
    return str(complaint.ticket_id)


def _home(session: Session, complaint: Complaint, ticket: Ticket) -> list[Complaint]:
    if complaint.building_id is None:
        raise ConflictError(f"nobody knows yet which home {reference(ticket.id)} is about")
    return same_home(session, [complaint])


def _check(ticket: Ticket, target: Ticket) -> None:
    if ticket.building_id != target.building_id:
        raise ConflictError("that ticket belongs to another building")
    if target is not ticket and (ticket.danger or target.danger):
        raise ConflictError("a danger has a ticket of its own")
