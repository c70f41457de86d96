"""Put a ticket off until a date, for a reason; it comes back by itself.

A danger cannot be put off, and a danger that is reported later ends the hold at once
(``ticket_rows``).
"""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from service.auth.who import Who
from service.errors import ConflictError, InvalidError, PointedError
from service.store.tables import Ticket, TimerRow
from service.usecases.rows.act_rows import Deed, one_line, store_act, ticket_to_act_on
from service.usecases.rows.act_words import when_words
from service.usecases.rows.ids import reference
from service.usecases.rows.ticket_rows import record_event

__all__ = ["HOLD", "end_hold", "hold_ticket", "release_ticket"]

HOLD = "hold"  # the purpose of the timer
LONGEST_HOLD = timedelta(days=180)


def hold_ticket(
    session: Session,
    now: datetime,
    who: Who,
    ticket_id: str,
    version: int,
    until: datetime,
    reason: str,
) -> str:
    """Put the ticket off; held already, it is put off to the new date. Returns its id.

    Raises:
        NotFoundError: there is no such ticket.
        ConflictError: it is a danger, it is closed, or it has changed since the person looked.
        InvalidError: the date has passed or is too far off, or there is no reason.
    """
    ticket = ticket_to_act_on(session, ticket_id, version)
    if ticket.danger:
        raise ConflictError(f"{reference(ticket.id)} is a danger; it cannot be put off")
    if not now < until <= now + LONGEST_HOLD:
        wrong = PointedError("/until", f"must lie after now and within {LONGEST_HOLD.days} days")
        raise InvalidError("the hold is refused", (wrong,))
    why = one_line(reason, "/reason")
    until_words = when_words(session, ticket.building_id, until)
    before = _held(ticket)
    ticket.held_until, ticket.hold_reason = until, why
    deed = Deed(
        "hold",
        "ticket held",
        f"On hold until {until_words}: {why}",
        before=before,
        after=_held(ticket),
        noted={"until": until.isoformat()},
        told=f"On hold until {until_words}",
    )
    act = store_act(session, now, who, ticket, deed)
    session.add(
        TimerRow(
            purpose=HOLD,
            key=f"{HOLD}:{act.id}",
            due_at=until,
            body={"ticket": ticket.id},
            attempts=0,
        )
    )
    session.flush()
    return ticket.id


def release_ticket(session: Session, now: datetime, who: Who, ticket_id: str, version: int) -> str:
    """Take the ticket off hold before its date; returns its id.

    Raises:
        NotFoundError: there is no such ticket.
        ConflictError: it is not held, it is closed, or it has changed since the person looked.
    """
    ticket = ticket_to_act_on(session, ticket_id, version)
    if ticket.held_until is None:
        raise ConflictError(f"{reference(ticket.id)} is not on hold")
    before = _held(ticket)
    ticket.held_until, ticket.hold_reason = None, None
    deed = Deed("release", "ticket released", "Taken off hold", before=before, after=_held(ticket))
    store_act(session, now, who, ticket, deed)
    return ticket.id


def end_hold(session: Session, now: datetime, timer: TimerRow) -> None:
    """The timer is due: the ticket is back, unless its hold has been changed since."""
    ticket = session.get(Ticket, timer.body["ticket"])
    if ticket is None or ticket.held_until is None or ticket.held_until > now:
        return
    body = {"reason": ticket.hold_reason}
    ticket.held_until, ticket.hold_reason = None, None
    if ticket.state == "open":
        ticket.version += 1
        record_event(session, now, ticket.id, "hold_over", body)


def _held(ticket: Ticket) -> dict[str, str | None]:
    until = ticket.held_until
    return {
        f"ticket/{ticket.id}/held_until": until.isoformat() if until is not None else None,
        f"ticket/{ticket.id}/hold_reason": ticket.hold_reason,
    }
