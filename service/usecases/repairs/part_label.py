"""The label of a part: when it went in, so that the next one knows how long it lasted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.faults.catalogue import parts
from rules.model import ComponentId, PartId
from service.errors import NotFoundError
from service.store.tables import Install
from service.usecases.loading.plants import plant_of
from service.usecases.repairs.component_words import kind_of
from service.usecases.rows.ids import reference

__all__ = ["Label", "part_label"]


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on a label; no names and no numbers of people."""

    building: str
    building_name: str
    component: str
    part: str
    installed_on: date | None
    reference: str  # the ticket it came with


def part_label(session: Session, building_id: str, component_id: str) -> Label:
    """The label of what was fitted last; of the part in the building file if nothing was.

    Raises:
        NotFoundError: there is no such building, or it has no such component.
    """
    plant = plant_of(session, building_id)
    component = plant.components.get(ComponentId(component_id)) if plant else None
    if plant is None or component is None:
        raise NotFoundError("there is no such component")
    last = session.scalars(
        select(Install)
        .where(Install.building_id == building_id, Install.component == component_id)
        .order_by(Install.installed_on.desc(), Install.id.desc())
        .limit(1)
    ).first()
    part = parts().get(PartId(last.part)) if last is not None else None
    return Label(
        building=building_id,
        building_name=plant.name,
        component=component_id,
        part=part.says if part else kind_of(plant, component),
        installed_on=last.installed_on if last is not None else component.installed,
        reference=reference(last.ticket_id) if last is not None else "",
    )
