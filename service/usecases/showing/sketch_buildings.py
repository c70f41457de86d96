"""Where the apartments of buildings lie, for the small drawings in the queue."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from functools import lru_cache

from sqlalchemy import Text, cast, select
from sqlalchemy.orm import Session

from rules.plant import read_building_document
from service.store.tables import Building

__all__ = ["Lying", "sketch_buildings"]

Lying = tuple[str, int, str]  # apartment, floor, line


def sketch_buildings(
    session: Session, building_ids: Iterable[str]
) -> Mapping[str, tuple[Lying, ...]]:
    """Apartment, floor and line of every home, by building; unknown buildings are left out."""
    rows = session.execute(
        select(Building.id, cast(Building.document, Text)).where(Building.id.in_(set(building_ids)))
    )
    return {building: lying for building, document in rows if (lying := _lying(document))}


@lru_cache(maxsize=512)
def _lying(document: str) -> tuple[Lying, ...]:
    plant, _problems = read_building_document(json.loads(document))
    return tuple((str(a.id), a.floor, a.line) for a in plant.apartments) if plant else ()
