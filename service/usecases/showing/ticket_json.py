"""Tickets as JSON for programs."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.faults.telling import told_name
from service.errors import InvalidError, PointedError
from service.store.tables import Closure, Ticket
from service.usecases.rows.ids import reference
from service.usecases.rows.picture import told_checks
from service.usecases.rows.told_names import told_body, told_suspects, told_why
from service.usecases.showing.ticket_rows import complaints_of, events_of, last_closure
from service.usecases.showing.ticket_words import history_words
from service.usecases.showing.truck_checks import with_units

__all__ = ["list_tickets", "ticket_json"]


def list_tickets(session: Session, state: str | None, building: str | None) -> list[dict[str, Any]]:
    """Tickets as JSON, most pressing first.

    Raises:
        InvalidError: ``state`` is neither open nor closed.
    """
    query = select(Ticket)
    if state is not None:
        if state not in {"open", "closed"}:
            wrong = PointedError("/state", "is either open or closed")
            raise InvalidError("unknown state", (wrong,))
        query = query.where(Ticket.state == state)
    if building is not None:
        query = query.where(Ticket.building_id == building)
    order = (
        (Ticket.state == "closed"),  # what is done with comes last
        Ticket.danger.desc(),
        Ticket.respond_by,
        Ticket.opened_at,
        Ticket.id,
    )
    return [ticket_json(session, t) for t in session.scalars(query.order_by(*order))]


def ticket_json(session: Session, ticket: Ticket) -> dict[str, Any]:
    """A ticket in the form the API shows it: faults and checks by the names of the trade's lists."""
    complaints = complaints_of(session, ticket)
    homes = dict.fromkeys(c.apartment for c in complaints if c.apartment is not None)
    return {
        "id": ticket.id,
        "reference": reference(ticket.id),
        "building": ticket.building_id,
        "state": ticket.state,
        "opened_at": ticket.opened_at.isoformat(),
        "closed_at": ticket.closed_at.isoformat() if ticket.closed_at else None,
        "danger": ticket.danger,
        "respond_by": ticket.respond_by.isoformat(),
        "because": ticket.because,
        "scope": ticket.scope,
        "component": ticket.component,
        "apartments": sorted(homes),
        "complaints": [c.id for c in complaints],
        "unconfirmed": [c.id for c in complaints if not c.confirmed],
        "kinds": sorted({str(k) for c in complaints for k in c.kinds}),
        "suspects": told_suspects(ticket.picture["suspects"]),
        "by_component": ticket.picture["by_component"],
        "unknown": ticket.picture["unknown"],
        "checks": [with_units(c) for c in told_checks(ticket.picture)],
        "load": ticket.picture["load"],
        "why": told_why(ticket.picture["why"]),
        "notes": ticket.picture.get("notes", []),
        "merged_into": ticket.merged_into,
        "assigned_to": ticket.assigned_to,
        "held_until": ticket.held_until.isoformat() if ticket.held_until else None,
        "hold_reason": ticket.hold_reason,
        "respond_by_set": ticket.respond_by_set,
        "pinned": [c.id for c in complaints if c.pinned],
        "version": ticket.version,
        "history": [
            {
                "at": e.at.isoformat(),
                "what": e.what,
                "says": history_words(e),
                "body": told_body(e.body),
            }
            for e in events_of(session, ticket)
        ],
        "closure": _closure_json(last_closure(session, ticket)),
    }


def _closure_json(closure: Closure | None) -> dict[str, Any] | None:
    if closure is None:
        return None
    return {
        "fault": told_name(closure.fault) if closure.fault else None,
        "component": closure.component,
        "parts": closure.parts,
        "installed": closure.installed_on.isoformat() if closure.installed_on else None,
        "note": closure.note,
        "closed_at": closure.closed_at.isoformat(),
    }
