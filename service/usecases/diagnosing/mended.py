"""What the work of the last weeks has put right, or was meant to, in a building."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta

from sqlalchemy import exists, select
from sqlalchemy.orm import Session

from rules.data import table
from rules.faults.candidates import VALVE_BODY
from rules.faults.catalogue import faults, parts
from rules.faults.lives import LearnedLives
from rules.faults.rows import Fault
from rules.faults.telling import rows_told_as
from rules.model import ComponentId, FaultId, PartId
from rules.plant import Plant
from service.store.tables import Closure, Ticket, TicketEvent
from service.usecases.rows.carried_over import PROOF_TAKES

__all__ = ["with_lately_mended"]

# A part that has worked for two weeks is a part like others; what comes back a month later is new
# (common practice, no source).
MENDED, HELD = timedelta(days=14), timedelta(days=30)

_Seen = tuple[ComponentId, FaultId]


def with_lately_mended(
    session: Session, plant: Plant, now: datetime, lives: LearnedLives
) -> LearnedLives:
    """The lives of parts with what closed tickets name and what new parts take along.

    A repair that a household has called right has held: what comes back then is the same, or what
    brings it about. Where another home of the ticket has said no by the time at which all are asked,
    nothing has held: the repaired part is then suspected as after any repair.
    """
    confirmed = exists().where(
        TicketEvent.ticket_id == Closure.ticket_id,
        TicketEvent.what == "confirmed",
        TicketEvent.at >= Closure.closed_at,
    )
    closures = session.execute(
        select(Closure, confirmed)
        .join(Ticket, Ticket.id == Closure.ticket_id)
        .where(Ticket.building_id == str(plant.id), Closure.closed_at > now - HELD)
        .where(Closure.component.is_not(None))
    ).all()
    reopened = _reopened(session, {closure.ticket_id for closure, _ in closures})
    mended, held = set[_Seen](), Counter[_Seen]()
    for closure, is_confirmed in closures:
        until = closure.closed_at + PROOF_TAKES
        said_no = (closure.closed_at <= at <= until for at in reopened[closure.ticket_id])
        is_right = is_confirmed and not any(said_no)
        component = ComponentId(str(closure.component))
        named = {(component, row.id) for row in rows_told_as(closure.fault or "")}
        if is_right:
            held.update(named)
        elif closure.closed_at > now - MENDED:
            mended |= named
            for entry in closure.parts:
                mended |= {(component, f) for f in _gone_with(plant, component, entry["part"])}
    for (component, fault), times in list(held.items()):
        root = table("common_cause")["brought_about_by"].get(fault)
        if root is not None and times > 1:
            held[component, FaultId(root)] += times
    return replace(lives, mended=frozenset(mended), held=frozenset(held.items()))


def _reopened(session: Session, tickets: set[str]) -> Mapping[str, list[datetime]]:
    """When somebody has said of each ticket that it is not right."""
    rows = session.scalars(
        select(TicketEvent).where(
            TicketEvent.ticket_id.in_(tickets), TicketEvent.what == "reopened"
        )
    )
    found: dict[str, list[datetime]] = {ticket: [] for ticket in tickets}
    for row in rows:
        found[row.ticket_id].append(row.at)
    return found


def _gone_with(plant: Plant, component: ComponentId, name: str) -> set[FaultId]:
    """What a new part takes along: the faults that ask for it, and all of a component that it renews.

    A new head leaves the valve's body as it was.
    """
    there, part = plant.components.get(component), parts().get(PartId(name))
    renews = there is not None and part is not None and part.renews == there.kind.value
    return {
        row.id
        for row in faults().values()
        if PartId(name) in row.parts
        or (renews and part and row.at == part.renews and row.parts and not _of_body(row))
    }


def _of_body(row: Fault) -> bool:
    return row.parts[0] == VALVE_BODY
