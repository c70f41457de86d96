"""What the work of the last days has put right, or was meant to, in a building."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.faults.catalogue import faults, parts
from rules.faults.telling import rows_told_as
from rules.model import ComponentId, FaultId, PartId
from rules.plant import Plant
from service.store.tables import Closure, Ticket

__all__ = ["mended_lately"]

# A part that has worked for two weeks is a part like others (common practice, no source).
LATELY = timedelta(days=14)


def mended_lately(
    session: Session, plant: Plant, now: datetime
) -> frozenset[tuple[ComponentId, FaultId]]:
    """Faults by component: those that closed tickets name, and those that a new part takes along."""
    closures = session.scalars(
        select(Closure)
        .join(Ticket, Ticket.id == Closure.ticket_id)
        .where(Ticket.building_id == str(plant.id), Closure.closed_at > now - LATELY)
        .where(Closure.component.is_not(None))
    )
    found: set[tuple[ComponentId, FaultId]] = set()
    for closure in closures:
        component = ComponentId(str(closure.component))
        if closure.fault is not None:
            found |= {(component, row.id) for row in rows_told_as(closure.fault)}
        for entry in closure.parts:
            found |= {(component, fault) for fault in _gone_with(plant, component, entry["part"])}
    return frozenset(found)


def _gone_with(plant: Plant, component: ComponentId, name: str) -> set[FaultId]:
    """What a new part takes along: the faults that ask for it, and all of a component that it renews."""
    there, part = plant.components.get(component), parts().get(PartId(name))
    renews = there is not None and part is not None and part.renews == there.kind.value
    return {
        row.id
        for row in faults().values()
        if PartId(name) in row.parts or (renews and part and row.at == part.renews and row.parts)
    }
