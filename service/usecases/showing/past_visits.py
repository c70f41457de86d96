"""What was found and changed here before, on the branch and in the homes of a ticket."""

from __future__ import annotations

from collections.abc import Collection
from itertools import islice

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.faults.catalogue import faults, parts
from rules.model import ComponentId, FaultId, PartId
from rules.plant import Graph, Plant
from service.store.tables import Closure, Ticket
from service.usecases.rows.ids import reference
from service.usecases.rows.repair_views import PastVisit

__all__ = ["past_visits"]

MOST = 3  # common practice, no source
LOOKED_THROUGH = 50


def past_visits(
    session: Session,
    plant: Plant | None,
    ticket_id: str,
    suspected: Collection[str],
    homes: Collection[str],
) -> tuple[PastVisit, ...]:
    """The newest first; of the suspected components, of what feeds the homes and of what is in them."""
    if plant is None:
        return ()
    rows = session.execute(
        select(Closure, Ticket.id)
        .join(Ticket, Ticket.id == Closure.ticket_id)
        .where(Ticket.building_id == str(plant.id), Ticket.id != ticket_id)
        .where(Closure.component.is_not(None))
        .order_by(Closure.closed_at.desc(), Closure.id.desc())
        .limit(LOOKED_THROUGH)
    )
    near = (
        _visit(closure, ticket)
        for closure, ticket in rows
        if str(closure.component) in suspected or _reaches(plant, str(closure.component), homes)
    )
    return tuple(islice(near, MOST))


def _reaches(plant: Plant, name: str, homes: Collection[str]) -> bool:
    component = plant.components.get(ComponentId(name))
    if component is None:  # the building file was replaced
        return False
    if component.apartment is not None and str(component.apartment) in homes:
        return True
    return any(
        str(home) in homes
        for graph in (Graph.WATER, Graph.POWER, Graph.DEMAND)
        for home in plant.apartments_downstream(component.id, graph)
    )


def _visit(closure: Closure, ticket_id: str) -> PastVisit:
    fault = faults().get(FaultId(closure.fault)) if closure.fault else None
    fitted = (parts().get(PartId(row["part"])) for row in closure.parts)
    return PastVisit(
        at=closure.closed_at,
        ticket=ticket_id,
        reference=reference(ticket_id),
        component=str(closure.component),
        cause=fault.says if fault else "no named fault",
        fitted=tuple(part.says for part in fitted if part is not None),
    )
