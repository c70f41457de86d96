"""The plant of a building: its stored document, with the parts that were fitted since."""

from __future__ import annotations

import json
from datetime import date
from functools import lru_cache

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.faults.candidates import VALVE_BODY
from rules.faults.catalogue import parts
from rules.model import ComponentId, PartId
from rules.plant import ComponentKind, Plant, read_building_document, renewed
from service.store.tables import Building, Install

__all__ = ["plant_of"]


def plant_of(session: Session, building_id: str | None) -> Plant | None:
    """The plant; None when the building is unknown or its stored document is no longer accepted."""
    building = session.get(Building, building_id) if building_id is not None else None
    if building is None:
        return None
    fitted = session.execute(
        select(Install.component, Install.part, Install.installed_on)
        .where(Install.building_id == building_id)
        .order_by(Install.installed_on, Install.id)
    )
    return _plant(
        json.dumps(building.document, sort_keys=True),
        tuple((component, part, on) for component, part, on in fitted),
    )


@lru_cache(maxsize=256)
def _plant(document: str, fitted: tuple[tuple[str, str, date], ...]) -> Plant | None:
    plant, _problems = read_building_document(json.loads(document))
    if plant is None:
        return None
    dates: dict[ComponentId, date] = {}
    bodies: dict[ComponentId, date | None] = {}
    for name, part, on in fitted:
        component = plant.components.get(ComponentId(name))
        known = parts().get(PartId(part))
        if component is None or known is None or known.renews != component.kind.value:
            continue
        # A building file that was written after the repair knows better.
        if component.installed is None or on >= component.installed:
            dates[component.id] = on
            if PartId(part) == VALVE_BODY:
                bodies[component.id] = on
            elif component.kind is ComponentKind.VALVE:
                bodies.setdefault(component.id, component.installed)
    return renewed(plant, dates, bodies)
