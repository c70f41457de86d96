"""Where the apartments of buildings lie, for the small drawings in the queue."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from sqlalchemy.orm import Session

from service.usecases.plants import plant_of

__all__ = ["Lying", "sketch_buildings"]

Lying = tuple[str, int, str]  # apartment, floor, line


def sketch_buildings(
    session: Session, building_ids: Iterable[str]
) -> Mapping[str, tuple[Lying, ...]]:
    """Apartment, floor and line of every home, by building; unknown buildings are left out."""
    plants = {b: plant_of(session, b) for b in sorted(set(building_ids)) if b}
    return {
        building: tuple((str(a.id), a.floor, a.line) for a in plant.apartments)
        for building, plant in plants.items()
        if plant is not None
    }
