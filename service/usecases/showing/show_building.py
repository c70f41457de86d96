"""A building for its owner: the parts in it, with those that are to be replaced first on top."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.errors import NotFoundError
from service.store.tables import Building
from service.usecases.diagnosing.part_lives import FITTED, class_of, lives_seen, years_between
from service.usecases.loading.plants import plant_of
from service.usecases.repairs.component_words import kind_of, place_of
from service.usecases.rows.repair_views import LifeView
from service.usecases.showing.show_component import life_view

__all__ = ["BuildingView", "PartLine", "list_buildings", "show_building"]


@dataclass(frozen=True, slots=True)
class PartLine:
    """One part of the building."""

    component: str
    kind: str
    place: str
    installed: date | None
    age_years: float | None
    life: LifeView


@dataclass(frozen=True, slots=True)
class BuildingView:
    """The parts of a building, the likeliest to fail first; those of unknown age last."""

    building: str
    name: str
    parts: tuple[PartLine, ...]
    expected_failures: float  # within a year, of the parts whose age is known


def list_buildings(session: Session) -> tuple[tuple[str, str], ...]:
    """All buildings by name."""
    rows = session.execute(select(Building.id, Building.document))
    names = [(str(building), str(document.get("name", building))) for building, document in rows]
    return tuple(sorted(names, key=lambda pair: (pair[1].casefold(), pair[0])))


def show_building(session: Session, now: datetime, building_id: str) -> BuildingView:
    """The parts of a building.

    Raises:
        NotFoundError: there is no such building.
    """
    plant = plant_of(session, building_id)
    if plant is None:
        raise NotFoundError("there is no such building")
    today = now.astimezone(ZoneInfo(plant.timezone)).date()
    seen = lives_seen(session, today)
    lines = []
    for component in plant.components.values():
        if component.kind not in FITTED:
            continue
        age = years_between(component.installed, today) if component.installed else None
        life = life_view(seen.get(class_of(plant, component)), age)
        if life is not None:
            kind, place = kind_of(plant, component), place_of(plant, component)
            line = PartLine(str(component.id), kind, place, component.installed, age, life)
            lines.append(line)
    lines.sort(key=lambda line: (-(line.life.chance_this_year or 0.0), line.component))
    expected = sum(line.life.chance_this_year or 0.0 for line in lines)
    return BuildingView(building_id, plant.name, tuple(lines), expected)
