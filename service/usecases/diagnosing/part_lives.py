"""How long our own parts have lasted, from building files and fitted parts: what is learned from."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from itertools import pairwise

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from rules.faults.catalogue import parts
from rules.model import ComponentId, PartId
from rules.parts.lifetimes import Life, Lives, learned, stated_lives, wear_of
from rules.plant import Component, ComponentKind, Plant, read_building_document
from service.store.tables import Building, Closure, Install, Ticket

__all__ = [
    "FITTED",
    "PartClass",
    "Seen",
    "Stay",
    "as_written",
    "class_of",
    "fitted_at",
    "lives_seen",
    "stays",
    "years_between",
]

DAYS_A_YEAR = 365.25
# What one takes out and fits anew; homes, loops and the building itself one does not.
FITTED = frozenset(
    {
        ComponentKind.VALVE,
        ComponentKind.THERMOSTAT,
        ComponentKind.CIRCULATOR,
        ComponentKind.RELAY,
        ComponentKind.TRANSFORMER,
        ComponentKind.SOURCE,
    }
)

PartClass = tuple[str, str | None]  # (kind of component, kind of valve, thermostat or source)


@dataclass(frozen=True, slots=True)
class Stay:
    """One part in one place: from when, until when (None: still there), and how it came and went."""

    part: str | None  # None: stated in the building file
    came_on: date
    went_on: date | None
    failed: bool  # it went because it had failed
    ticket: str | None  # the ticket it came with


@dataclass(frozen=True, slots=True)
class Seen:
    """What is known of one class of parts, and how many parts have taught it."""

    stated: Lives
    lives: Lives
    failed: int
    working: int


def class_of(plant: Plant, component: Component) -> PartClass:
    """The parts that a component ages with."""
    return component.kind.value, _variants(plant).get(component.id)


def _variants(plant: Plant) -> dict[ComponentId, str]:
    found: dict[ComponentId, str] = {source.id: source.kind for source in plant.heat_sources}
    for home in plant.apartments:
        for part in (home.valve, home.thermostat):
            if part is not None:
                found[part.id] = part.kind
    return found


def lives_seen(session: Session, today: date) -> dict[PartClass, Seen]:
    """For each class of parts in all buildings: how long they last, as far as anybody can know.

    Parts whose age nobody knows teach nothing.
    """
    seen: dict[PartClass, list[Life]] = {}
    fitted = fitted_at(session)
    for building, plant, watched_from in _buildings(session):
        for component, found in _fittable(plant):
            here = stays(component, fitted.get((building, str(component.id)), ()))
            seen.setdefault(found, []).extend(_lives(here, watched_from, today))
    learned_by: dict[PartClass, Seen] = {}
    for name, lives in seen.items():
        wear = wear_of(*name)
        if wear is not None:
            failed = sum(life.failed for life in lives)
            before = stated_lives(wear)
            now = learned(before, lives)
            learned_by[name] = Seen(before, now, failed, len(lives) - failed)
    return learned_by


def stays(component: Component, fitted: Sequence[tuple[Install, str | None]]) -> tuple[Stay, ...]:
    """The parts a component has consisted of, oldest first.

    ``component`` is as the building file states it, ``fitted`` the parts that went in, oldest first,
    each with the fault that it mended, if there was one.
    """
    renewing = [(row, fault) for row, fault in fitted if _renews(component, row)]
    came: list[tuple[date, str | None, str | None, bool]] = []
    if component.installed is not None and not any(
        row.installed_on == component.installed for row, _ in renewing
    ):
        came.append((component.installed, None, None, False))
    came += [
        (row.installed_on, row.part, row.ticket_id, fault is not None) for row, fault in renewing
    ]
    came.sort(key=lambda row: row[0])
    ends: list[tuple[date | None, bool]] = [(after[0], after[3]) for _, after in pairwise(came)]
    ends.append((None, False))
    return tuple(
        Stay(part, came_on, went_on, failed, ticket)
        for (came_on, part, ticket, _), (went_on, failed) in zip(came, ends, strict=False)
    )


def years_between(start: date, end: date) -> float:
    """Years of 365.25 days."""
    return (end - start).days / DAYS_A_YEAR


def _lives(here: Sequence[Stay], watched_from: date, today: date) -> Iterator[Life]:
    for stay in here:
        end = stay.went_on or today
        age = years_between(stay.came_on, end)
        if age >= 0:
            seen_from = max(years_between(stay.came_on, watched_from), 0.0)
            yield Life(age, stay.failed, min(seen_from, age))


def _renews(component: Component, row: Install) -> bool:
    part = parts().get(PartId(row.part))
    return part is not None and part.renews == component.kind.value


def fitted_at(session: Session) -> dict[tuple[str, str], list[tuple[Install, str | None]]]:
    """The parts that went in by building and component, with the fault that their ticket named."""
    causes = {
        (ticket, component): fault
        for ticket, component, fault in session.execute(
            select(Closure.ticket_id, Closure.component, Closure.fault).order_by(Closure.id)
        )
    }
    found: dict[tuple[str, str], list[tuple[Install, str | None]]] = {}
    for row in session.scalars(select(Install).order_by(Install.installed_on, Install.id)):
        key = (row.building_id or "", row.component)
        found.setdefault(key, []).append((row, causes.get((row.ticket_id, row.component))))
    return found


def _buildings(session: Session) -> Iterator[tuple[str, Plant, date]]:
    """Each building as its file states it, and the day from which failures would have been seen."""
    first = dict(
        session.execute(
            select(Ticket.building_id, func.min(Ticket.opened_at)).group_by(Ticket.building_id)
        ).all()
    )
    for row in session.scalars(select(Building).order_by(Building.id)):
        plant = as_written(row)
        if plant is not None:
            since: datetime = min(row.updated_at, first.get(row.id) or row.updated_at)
            yield row.id, plant, since.date()


def as_written(building: Building) -> Plant | None:
    """The plant as its file states it, without the parts fitted since."""
    return _as_written(json.dumps(building.document, sort_keys=True))


@lru_cache(maxsize=1024)
def _as_written(document: str) -> Plant | None:
    return read_building_document(json.loads(document))[0]


def _fittable(plant: Plant) -> Iterator[tuple[Component, PartClass]]:
    variants = _variants(plant)
    for component in plant.components.values():
        if component.kind in FITTED:
            yield component, (component.kind.value, variants.get(component.id))
