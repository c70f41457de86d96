"""Take in a building file that came as JSON, or say everything that is wrong with it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from sqlalchemy.orm import Session

from rules.plant import Plant, Problem, read_building_document
from service.errors import InvalidError, PointedError
from service.store.tables import Building
from service.usecases.loading.left_open import left_open

__all__ = ["load_building", "pointed", "store_plant"]


def load_building(
    session: Session, now: datetime, building_id: str, document: object
) -> tuple[PointedError, ...]:
    """Store the building; returns the warnings.

    Raises:
        InvalidError: the document is refused, with every problem in it.
    """
    plant, problems = read_building_document(document, now)
    if plant is None:
        raise InvalidError("the building file is refused", pointed(problems))
    if plant.id != building_id:
        where = PointedError("/building", f"is {plant.id!r}, but the address says {building_id!r}")
        raise InvalidError("the building file is for another building", (where,))
    store_plant(session, now, plant)
    return pointed([*problems, *left_open(session, plant)])


def store_plant(session: Session, now: datetime, plant: Plant) -> None:
    """Write or replace the stored document of a plant that has been accepted."""
    row = session.get(Building, str(plant.id))
    if row is None:
        session.add(Building(id=str(plant.id), document=plant.document(), updated_at=now))
        session.flush()
    else:
        row.document = plant.document()
        row.updated_at = now


def pointed(problems: Iterable[Problem]) -> tuple[PointedError, ...]:
    """Problems as the API shows them; warnings beside reasons to refuse are marked, and last."""
    ordered = sorted(problems, key=lambda p: not p.fatal)
    refused = any(p.fatal for p in ordered)
    return tuple(
        PointedError(p.pointer, p.says if p.fatal or not refused else f"warning: {p.says}")
        for p in ordered
    )
