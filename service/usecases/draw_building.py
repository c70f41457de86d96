"""The building in section for a ticket: who reported, who should notice, who cannot be asked."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.plant import Apartment, Graph, Plant
from service.store.tables import Complaint, HouseholdRow, NumberRow, Ticket
from service.usecases.views import ApartmentMark, BuildingDrawing

__all__ = ["draw_building"]

NO_DRAWING = BuildingDrawing(
    building="",
    name="Home not known yet",
    apartments=(),
    loops=(),
    transformers=(),
    sources=(),
    suspected=None,
)
WORDS = {
    "too_cold": "too cold",
    "too_hot": "too hot",
    "no_hot_water": "no hot water",
    "gas_smell": "smell of gas",
    "co_alarm": "CO alarm",
}


def draw_building(
    session: Session, plant: Plant | None, ticket: Ticket, complaints: Sequence[Complaint]
) -> BuildingDrawing:
    """The drawing beside a ticket."""
    if plant is None:
        return NO_DRAWING
    first = next(iter(ticket.picture["suspects"]), None)
    suspected = first["component"] if first else None
    told = {str(c.apartment): c for c in complaints if c.apartment is not None}
    reachable = _reachable(session, str(plant.id))
    served = _served(plant, suspected)
    return BuildingDrawing(
        building=str(plant.id),
        name=plant.name,
        apartments=tuple(
            _mark(a, told.get(str(a.id)), served=a.id in served, reachable=a.id in reachable)
            for a in plant.apartments
        ),
        loops=tuple(
            (str(x.id), str(x.circulator.id), str(x.relay.id) if x.relay else None, str(x.source))
            for x in plant.loops
        ),
        transformers=tuple(str(t.id) for t in plant.transformers),
        sources=tuple(str(s.id) for s in plant.heat_sources),
        suspected=suspected,
    )


def _served(plant: Plant, suspected: str | None) -> frozenset[str]:
    """Homes that lose something when the suspected component fails."""
    found: set[str] = set()
    for component_id, component in plant.components.items():
        if component_id != suspected:
            continue
        if component.apartment is not None:
            found.add(str(component.apartment))
        for graph in (Graph.WATER, Graph.POWER):
            found.update(str(a) for a in plant.apartments_downstream(component_id, graph))
    return frozenset(found)


def _reachable(session: Session, building_id: str) -> frozenset[str]:
    rows = session.scalars(
        select(HouseholdRow.apartment)
        .outerjoin(NumberRow, NumberRow.number == HouseholdRow.mobile)
        .where(HouseholdRow.building_id == building_id, HouseholdRow.mobile.is_not(None))
        .where(NumberRow.stopped_at.is_(None))
    )
    return frozenset(rows)


def _mark(
    apartment: Apartment, complaint: Complaint | None, *, served: bool, reachable: bool
) -> ApartmentMark:
    if complaint is not None:
        kinds = " and ".join(WORDS.get(str(k), str(k).replace("_", " ")) for k in complaint.kinds)
        state, words = "reported", f"reported {kinds or 'a problem'}"
    elif served and reachable:
        state, words = "explained", "served by the suspected part, has not written"
    elif reachable:
        state, words = "silent", "could write, has not"
    else:
        state, words = "unreachable", "nobody there can be reached by text"
    return ApartmentMark(
        apartment=str(apartment.id),
        floor=apartment.floor,
        line=apartment.line,
        loop=str(apartment.loop),
        transformer=(
            str(apartment.valve.transformer)
            if apartment.valve is not None and apartment.valve.transformer is not None
            else None
        ),
        state=state,
        words=words,
    )
