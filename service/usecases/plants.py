"""The plant of a building, from its stored document."""

from __future__ import annotations

import json
from functools import lru_cache

from sqlalchemy.orm import Session

from rules.plant import Plant, read_building_document
from service.store.tables import Building

__all__ = ["plant_of"]


def plant_of(session: Session, building_id: str | None) -> Plant | None:
    """The plant; None when the building is unknown or its stored document is no longer accepted."""
    building = session.get(Building, building_id) if building_id is not None else None
    return _plant(json.dumps(building.document, sort_keys=True)) if building is not None else None


@lru_cache(maxsize=256)
def _plant(document: str) -> Plant | None:
    plant, _problems = read_building_document(json.loads(document))
    return plant
