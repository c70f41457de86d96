"""A component's page: what it is, what hangs on it, how old it is, what happened to it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.faults.catalogue import faults, parts
from rules.model import ComponentId, FaultId, PartId
from rules.plant import Component, ComponentKind, Graph, Plant
from rules.plant.graphs import edges_of, reversed_edges
from service.errors import NotFoundError
from service.store.tables import Building, Closure, ClosureDetail, Complaint, FactRow, Ticket
from service.usecases.diagnosing.part_lives import (
    Seen,
    Stay,
    as_written,
    class_of,
    fitted_at,
    lives_seen,
    stays,
    years_between,
)
from service.usecases.loading.plants import plant_of
from service.usecases.repairs.component_words import kind_of, place_of
from service.usecases.repairs.repair_photos import photos_of_repair
from service.usecases.rows.ids import reference
from service.usecases.rows.repair_views import (
    ComponentView,
    InstallLine,
    LifeView,
    PastTicket,
    ReadingLine,
    Suspicion,
)
from service.usecases.showing.show_closing import right_words
from service.usecases.showing.ticket_words import finding_words

__all__ = ["life_view", "show_component"]

MOST_LINES = 50
SERVES = {
    Graph.WATER: "Brings heat to",
    Graph.POWER: "Brings 24 V to",
    Graph.DEMAND: "Passes on the call of",
}
FED_BY = {Graph.WATER: "Heat from", Graph.POWER: "24 V from", Graph.DEMAND: "Called by"}


def show_component(
    session: Session, now: datetime, building_id: str, component_id: str
) -> ComponentView:
    """Everything the page of a component shows; no names and no numbers of people.

    Raises:
        NotFoundError: there is no such building, or it has no such component.
    """
    building, plant = session.get(Building, building_id), plant_of(session, building_id)
    component = plant.components.get(ComponentId(component_id)) if plant else None
    written = as_written(building) if building is not None else None
    if plant is None or component is None or written is None:
        raise NotFoundError("there is no such component")
    today = now.astimezone(ZoneInfo(plant.timezone)).date()
    here = stays(
        written.components[component.id],
        fitted_at(session).get((building_id, component_id), ()),
    )
    tickets = _tickets(session, building_id, component)
    age = years_between(component.installed, today) if component.installed else None
    return ComponentView(
        building=building_id,
        building_name=plant.name,
        timezone=plant.timezone,
        now=now,
        component=component_id,
        kind=kind_of(plant, component),
        place=place_of(plant, component),
        serves=_serves(plant, component),
        fed_by=_fed_by(plant, component),
        installed=component.installed,
        age_years=age,
        life=life_view(lives_seen(session, today).get(class_of(plant, component)), age),
        installs=tuple(_install(stay) for stay in reversed(here)),
        suspected=_suspected(session, building_id, component_id),
        tickets=tickets,
        readings=_readings(session, building_id, component_id),
        photos=photos_of_repair(session, [t.ticket for t in tickets]),
    )


def life_view(seen: Seen | None, age_years: float | None) -> LifeView | None:
    """How long such parts last, and what that means for one of this age."""
    if seen is None:
        return None
    return LifeView(
        stated_median_years=seen.stated.median_years(),
        median_years=seen.lives.median_years(),
        seen_failed=seen.failed,
        seen_working=seen.working,
        chance_this_year=None
        if age_years is None
        else seen.lives.failure_within_a_year(max(age_years, 0.0)),
    )


def _serves(plant: Plant, component: Component) -> tuple[tuple[str, tuple[str, ...]], ...]:
    if component.kind in {ComponentKind.BUILDING, ComponentKind.APARTMENT}:
        return ()
    served = (
        (says, plant.apartments_downstream(component.id, graph)) for graph, says in SERVES.items()
    )
    return tuple((says, tuple(sorted(homes))) for says, homes in served if homes)


def _fed_by(plant: Plant, component: Component) -> tuple[tuple[str, str], ...]:
    found = []
    for graph, says in FED_BY.items():
        feeders = reversed_edges(edges_of(plant, graph)).get(component.id, ())
        found += [(says, str(feeder)) for feeder in feeders if feeder != str(plant.id)]
    return tuple(found)


def _install(stay: Stay) -> InstallLine:
    part = parts().get(PartId(stay.part)) if stay.part else None
    return InstallLine(
        part=part.says if part else "As the building file states it",
        installed_on=stay.came_on,
        ticket=stay.ticket,
        reference=reference(stay.ticket) if stay.ticket else "",
        lasted_years=None if stay.went_on is None else years_between(stay.came_on, stay.went_on),
        failed=stay.failed,
    )


def _tickets(session: Session, building_id: str, component: Component) -> tuple[PastTicket, ...]:
    """Tickets that turned out to be about it, newest first; of a home those of its complaints."""
    name = str(component.id)
    closed = select(Closure.ticket_id).where(Closure.component == name)
    said = select(Complaint.ticket_id).where(
        Complaint.building_id == building_id, Complaint.apartment == name
    )
    rows = session.scalars(
        select(Ticket)
        .where(Ticket.building_id == building_id, Ticket.merged_into.is_(None))
        .where(
            Ticket.id.in_(said)
            if component.kind is ComponentKind.APARTMENT
            else Ticket.id.in_(closed)
        )
        .order_by(Ticket.opened_at.desc(), Ticket.id)
        .limit(MOST_LINES)
    )
    return tuple(_past(session, ticket) for ticket in rows)


def _suspected(session: Session, building_id: str, component: str) -> tuple[Suspicion, ...]:
    """Open tickets with a suspect of this component. A danger is searched, not guessed at."""
    open_ones = session.execute(
        select(Ticket.id, Ticket.opened_at, Ticket.picture["by_component"].label("parts"))
        .where(Ticket.building_id == building_id, Ticket.state == "open")
        .where(Ticket.danger.is_(False))
        .order_by(Ticket.opened_at, Ticket.id)
    )
    found = []
    for row in open_ones:
        for place, part in enumerate(row.parts):
            if part["component"] == component:
                chance = float(part["probability"])
                line = Suspicion(row.id, reference(row.id), row.opened_at, place == 0, chance)
                found.append(line)
    return tuple(sorted(found, key=lambda line: -line.probability))


def _past(session: Session, ticket: Ticket) -> PastTicket:
    closure = session.scalars(
        select(Closure).where(Closure.ticket_id == ticket.id).order_by(Closure.id.desc()).limit(1)
    ).first()
    line = PastTicket(
        ticket=ticket.id,
        reference=reference(ticket.id),
        opened_at=ticket.opened_at,
        closed_at=ticket.closed_at,
        cause="still open" if ticket.state == "open" else "ended without a repair",
        note="",
        right="",
    )
    if closure is None or ticket.state == "open":
        return line
    fault = faults().get(FaultId(closure.fault)) if closure.fault else None
    return replace(
        line,
        cause=fault.says if fault else "no named fault",
        note=closure.note,
        right=right_words(session.get(ClosureDetail, closure.id)),
    )


def _readings(session: Session, building_id: str, component: str) -> tuple[ReadingLine, ...]:
    rows: Iterable[FactRow] = session.scalars(
        select(FactRow)
        .where(FactRow.building_id == building_id, FactRow.ticket_id.is_not(None))
        .order_by(FactRow.at.desc(), FactRow.id.desc())
    )
    found: Sequence[FactRow] = [
        row
        for row in rows
        if row.body.get("type") == "found" and row.body.get("component") == component
    ]
    return tuple(
        ReadingLine(row.at, finding_words(row.body), row.source.startswith("after:"))
        for row in found[:MOST_LINES]
    )
