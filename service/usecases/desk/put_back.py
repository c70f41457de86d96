"""Put complaints back on the tickets where they were before an act, and open those again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from service.errors import ConflictError
from service.store.tables import Complaint, DeskAct, FactRow, Ticket
from service.usecases.diagnosing.grouping_state import place_key, place_of
from service.usecases.diagnosing.rediagnose import diagnose_again
from service.usecases.rows.ids import reference
from service.usecases.rows.ticket_rows import move_complaints, open_ticket, record_event

__all__ = ["put_back", "things_to_put_back"]


@dataclass(frozen=True, slots=True)
class Things:
    """The complaints that still are where the act put them, or why there is nothing to do."""

    complaints: tuple[Complaint, ...]
    refusal: str = ""


def things_to_put_back(session: Session, act: DeskAct) -> Things:
    """What of an act of grouping still stands.

    A complaint that has ended, has turned into a danger or was moved by grouping since is left
    where it is.
    """
    found = []
    for key, (ticket_id, pinned) in _parts(act, "complaint").items():
        complaint = session.get_one(Complaint, key)
        stands = [complaint.ticket_id, complaint.pinned] == [ticket_id, pinned]
        if stands and complaint.closed_at is None and not complaint.danger:
            found.append(complaint)
    if not found:
        return Things((), "its complaints have ended or have moved on since")
    for complaint in found:
        was_on = act.body["before"][f"complaint/{complaint.id}"][0]
        if was_on is not None and _standing(session, was_on, act) is None:
            return Things((), f"{reference(was_on)} has been closed since")
    return Things(tuple(found))


def put_back(session: Session, now: datetime, act: DeskAct, *, pin: bool) -> str:
    """Undo an act of grouping and diagnose the building again; returns the ticket to show next.

    With ``pin`` the complaints are pinned where they were, else as they were.

    Raises:
        ConflictError: nothing of it is left to undo.
    """
    things = things_to_put_back(session, act)
    if things.refusal:
        raise ConflictError(things.refusal)
    first: Ticket | None = None
    for complaint in things.complaints:
        was_on, was_pinned = act.body["before"][f"complaint/{complaint.id}"]
        ticket = _where(session, now, act, complaint, was_on)
        first = first or ticket
        complaint.pinned = False
        move_complaints(session, now, ticket, [complaint], "undone")
        complaint.pinned = pin or was_pinned
    session.flush()
    _rest(session, act)
    if first is None:  # pragma: no cover  there is one complaint at least
        raise ConflictError("nothing of it is left to undo")
    diagnose_again(session, now, first)
    session.flush()
    return first.id


def _parts(act: DeskAct, kind: str) -> dict[str, tuple[str | None, bool]]:
    after = act.body["after"]
    return {k.split("/")[1]: tuple(v) for k, v in after.items() if k.startswith(f"{kind}/")}


def _where(
    session: Session, now: datetime, act: DeskAct, complaint: Complaint, was_on: str | None
) -> Ticket:
    """The ticket to put a complaint on: open again if the act has closed it, new if it had none."""
    if was_on is None:
        ticket = open_ticket(session, now, complaint.building_id, complaint.opened_at)
        ticket.alone = True
        return ticket
    standing = _standing(session, was_on, act)
    if standing is None:  # pragma: no cover  looked at before
        raise ConflictError(f"{reference(was_on)} has been closed since")
    if standing.state != "open":
        standing.state, standing.closed_at, standing.merged_into = "open", None, None
        standing.building_id = complaint.building_id
        record_event(session, now, standing.id, "unmerged", {})
    return standing


def _standing(session: Session, ticket_id: str, act: DeskAct) -> Ticket | None:
    """A ticket, open or closed by the act itself; else the one it was merged into; None if repaired."""
    ticket = session.get_one(Ticket, ticket_id)
    while ticket.state != "open":
        if act.body["after"].get(place_key(ticket.id)) == place_of(ticket):
            return ticket
        if ticket.merged_into is None:
            return None
        ticket = session.get_one(Ticket, ticket.merged_into)
    return ticket


def _rest(session: Session, act: DeskAct) -> None:
    """Whether tickets stay alone, and what was measured for them."""
    for key, value in act.body["after"].items():
        kind, name = key.split("/")[:2]
        was = act.body["before"][key]
        if kind == "ticket" and was is not None and value is not None:
            ticket = session.get_one(Ticket, name)
            if ticket.alone == value[2]:
                ticket.alone = was[2]
        if kind == "fact" and was is not None:
            fact = session.get_one(FactRow, int(name))
            if fact.ticket_id == value and session.get_one(Ticket, was).state == "open":
                fact.ticket_id = was
