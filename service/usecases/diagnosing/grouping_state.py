"""How complaints are grouped at a moment, as a table that can be compared, kept and put back.

The keys are those of ``DeskAct.body``: ``complaint/<id>`` holds the ticket and whether it is pinned
there, ``ticket/<id>/place`` whether the ticket is open, where it went and whether it stays alone,
``fact/<id>`` the ticket that a technician's reading is kept with.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import Complaint, FactRow, Ticket
from service.usecases.rows.act_rows import Deed, store_move
from service.usecases.rows.ids import reference
from service.usecases.rows.ticket_rows import Move, open_complaints_of

__all__ = ["changed", "complaint_key", "grouping_of", "note_moves", "place_key", "place_of"]

Grouping = Mapping[str, Any]


def complaint_key(complaint_id: str) -> str:
    """Where a complaint is and whether it is pinned there."""
    return f"complaint/{complaint_id}"


def place_key(ticket_id: str) -> str:
    """Whether a ticket is open, where it went, and whether it stays alone."""
    return f"ticket/{ticket_id}/place"


def place_of(ticket: Ticket) -> list[Any]:
    """The value under ``place_key``."""
    return [ticket.state, ticket.merged_into, ticket.alone]


def grouping_of(
    session: Session, complaints: Sequence[Complaint], and_of: Iterable[str] = ()
) -> dict[str, Any]:
    """How these complaints are grouped now, with their tickets and what was measured for them.

    ``and_of`` are tickets to include although they have lost their complaints.
    """
    found: dict[str, Any] = {complaint_key(c.id): [c.ticket_id, c.pinned] for c in complaints}
    ids = {*and_of, *(c.ticket_id for c in complaints if c.ticket_id is not None)}
    for ticket in session.scalars(select(Ticket).where(Ticket.id.in_(ids))):
        found[place_key(ticket.id)] = place_of(ticket)
    facts = session.execute(select(FactRow.id, FactRow.ticket_id).where(FactRow.ticket_id.in_(ids)))
    found |= {f"fact/{fact_id}": ticket_id for fact_id, ticket_id in facts}
    return found


def changed(before: Grouping, after: Grouping) -> tuple[dict[str, Any], dict[str, Any]]:
    """What is different: as it was, and as it is; None where there was nothing."""
    keys = [k for k in {**before, **after} if before.get(k) != after.get(k)]
    return {k: before.get(k) for k in keys}, {k: after.get(k) for k in keys}


def note_moves(
    session: Session, now: datetime, moves: Sequence[Move], before: Grouping, after: Grouping
) -> None:
    """Note each move of grouping between two tickets as an act that can be undone."""
    by_way: dict[tuple[str | None, str], list[Move]] = {}
    for move in moves:
        by_way.setdefault((move.was_on, move.to), []).append(move)
    for (was_on, to), moved in by_way.items():
        if was_on is None and len(open_complaints_of(session, to)) <= len(moved):
            continue  # a new complaint on a new ticket: nothing was grouped
        ticket = session.get_one(Ticket, to)
        keys = [complaint_key(m.complaint) for m in moved]
        keys += [k for k in before if k.startswith("fact/") and before[k] == was_on]
        old = {k: before[k] for k in keys if before[k] != after.get(k)}
        new = {k: after.get(k) for k in old}
        if was_on is not None:
            left = session.get_one(Ticket, was_on)
            if left.merged_into == to:
                old[place_key(was_on)] = before[place_key(was_on)]
                new[place_key(was_on)] = place_of(left)
        says = _says([m.home for m in moved], was_on, to, moved[0].why)
        deed = Deed("move", "", says, before=old, after=new)
        store_move(session, now, ticket, deed, () if was_on is None else (was_on,))


def _says(homes: Iterable[str | None], was_on: str | None, to: str, why: str) -> str:
    what = ", ".join(sorted({home or "A complaint" for home in homes}))
    how = "put on" if was_on is None else f"moved from {reference(was_on)} to"
    return f"{what} {how} {reference(to)}" + (f": {why}" if why else "")
