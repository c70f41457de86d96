"""What was found and changed here before, on the branch and in the homes of a ticket."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import islice

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from rules.faults.catalogue import faults, parts
from rules.model import ComponentId, FaultId, PartId
from rules.plant import Graph, Plant
from service.store.tables import Closure, Complaint, Ticket
from service.usecases.rows.ids import reference
from service.usecases.rows.nothing_found import is_looked_only, visits_in_vain
from service.usecases.rows.repair_views import PastVisit

__all__ = ["past_visits"]

MOST = 3  # common practice, no source
LOOKED_THROUGH = 50
NOTHING = "nothing found that has a name"


def past_visits(
    session: Session,
    plant: Plant | None,
    ticket: Ticket,
    suspected: Collection[str],
    complaints: Sequence[Complaint],
) -> tuple[PastVisit, ...]:
    """The newest first; of the suspected components, of what feeds the homes and of what is in them.

    So are visits to these homes that found nothing, and those of a ticket that is open again.
    """
    if plant is None:
        return ()
    homes = {c.apartment for c in complaints if c.apartment is not None}
    in_vain = _in_vain(session, complaints)
    rows = session.execute(
        select(Closure, Ticket.id)
        .join(Ticket, Ticket.id == Closure.ticket_id)
        .where(Ticket.building_id == str(plant.id))
        .where(or_(Ticket.id != ticket.id, Ticket.state == "open"))
        .where(or_(Closure.component.is_not(None), Closure.id.in_(in_vain)))
        .order_by(Closure.closed_at.desc(), Closure.id.desc())
        .limit(LOOKED_THROUGH)
    )
    near = (
        _visit(closure, ticket_id, closure.component or in_vain[closure.id])
        for closure, ticket_id in rows
        if closure.id in in_vain
        or str(closure.component) in suspected
        or _reaches(plant, str(closure.component), homes)
    )
    return tuple(islice(near, MOST))


def _in_vain(session: Session, complaints: Sequence[Complaint]) -> dict[int, str]:
    """The home of each visit that found nothing of what it reports."""
    homes = {c.id: str(c.apartment) for c in complaints}
    visits = visits_in_vain(session, complaints)
    return {visit.closure: homes[name] for name, found in visits.items() for visit in found}


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


def _visit(closure: Closure, ticket_id: str, component: str) -> PastVisit:
    fault = faults().get(FaultId(closure.fault)) if closure.fault else None
    fitted = (parts().get(PartId(row["part"])) for row in closure.parts)
    return PastVisit(
        at=closure.closed_at,
        ticket=ticket_id,
        reference=reference(ticket_id),
        component=component,
        cause=fault.says if fault else NOTHING if is_looked_only(closure) else "no named fault",
        fitted=tuple(part.says for part in fitted if part is not None),
    )
