"""A ticket is put off, and a household of it tells of something more: then it waits no longer.

Whoever put it off knew of a valve on order, and of nobody newborn and no cold.
"""

from __future__ import annotations

from service.store.tables import Complaint, Ticket
from service.usecases.hearing.turn import Turn
from service.usecases.rows.alerts import raise_alert
from service.usecases.rows.pressing import care_of
from service.usecases.rows.ticket_rows import open_complaints_of, record_event

__all__ = ["known_on_hold", "wake_for_newcomer", "wake_for_news"]

TELLS_MORE = "tells more on a held ticket"


def known_on_hold(turn: Turn) -> frozenset[str] | None:
    """What the report of a held ticket says so far of troubles and of people at risk; else None."""
    complaint = turn.complaint
    if complaint is None or complaint.ticket_id is None:
        return None
    if turn.session.get_one(Ticket, complaint.ticket_id).held_until is None:
        return None
    return frozenset((*complaint.kinds, *complaint.care))


def wake_for_news(turn: Turn, known: frozenset[str] | None) -> None:
    """Take the ticket off hold, and tell the desk, if the text has told of more than was ``known``."""
    complaint = turn.complaint
    if turn.dangers:
        return  # that ends the hold by itself, and says why
    if known is None or complaint is None or known.issuperset((*complaint.kinds, *complaint.care)):
        return
    _wake(turn, complaint)


def wake_for_newcomer(turn: Turn) -> None:
    """The same for a report that has come to a held ticket, beside what the others there told."""
    complaint = turn.complaint
    if turn.dangers or not turn.opened or complaint is None or complaint.ticket_id is None:
        return
    if turn.session.get_one(Ticket, complaint.ticket_id).held_until is None:
        return
    known, tells = set[str](), {*complaint.kinds, *care_of(turn.session, complaint)}
    for other in open_complaints_of(turn.session, complaint.ticket_id):
        if other.id != complaint.id:
            known |= {*other.kinds, *care_of(turn.session, other)}
    if not tells <= known:
        _wake(turn, complaint)


def _wake(turn: Turn, complaint: Complaint) -> None:
    ticket = turn.session.get_one(Ticket, str(complaint.ticket_id))
    ticket.held_until, ticket.hold_reason = None, None
    ticket.version += 1
    record_event(turn.session, turn.now, ticket.id, "hold_woken", {"complaint": complaint.id})
    raise_alert(turn.session, turn.now, TELLS_MORE, turn.message.id, complaint_id=complaint.id)
