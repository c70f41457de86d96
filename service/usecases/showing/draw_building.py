"""The building in section for a ticket: who reported, who should notice, who cannot be asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.plant import Apartment, Graph, Loop, Plant
from service.store.tables import Complaint, FactRow, HouseholdRow, NumberRow, Ticket
from service.usecases.rows.ids import reference
from service.usecases.rows.views import ApartmentMark, BuildingDrawing

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
_OF_HEAT = frozenset({"too_cold", "too_hot", "no_hot_water"})
WORDS = {
    "too_cold": "too cold",
    "too_hot": "too hot",
    "no_hot_water": "no hot water",
    "gas_smell": "smell of gas",
    "co_alarm": "CO alarm",
}


@dataclass(frozen=True, slots=True)
class _Known:
    """What is known of the homes, by apartment."""

    told: Mapping[str, Complaint]  # on this ticket
    elsewhere: Mapping[str, Complaint]  # on other open tickets
    explained: frozenset[str]  # whose complaint the first suspect would explain
    served: frozenset[str]  # that it would trouble
    reachable: frozenset[str]
    rooms: Mapping[str, str]  # the last room temperature told, in words


def draw_building(
    session: Session, plant: Plant | None, ticket: Ticket, complaints: Sequence[Complaint]
) -> BuildingDrawing:
    """The drawing beside a ticket."""
    if plant is None:
        return NO_DRAWING
    first = None if _is_danger_alone(ticket, complaints) else _first_suspect(ticket)
    suspected = first["component"] if first else None
    known = _Known(
        told={str(c.apartment): c for c in complaints if c.apartment is not None},
        elsewhere=_elsewhere(session, ticket),
        explained=frozenset(first["explains"]) if first else frozenset(),
        served=_served(plant, suspected),
        reachable=_reachable(session, str(plant.id)),
        rooms=_rooms(session, str(plant.id)),
    )
    return BuildingDrawing(
        building=str(plant.id),
        name=plant.name,
        apartments=tuple(_mark(a, known) for a in plant.apartments),
        loops=tuple(_loop(plant, loop) for loop in plant.loops),
        transformers=tuple(str(t.id) for t in plant.transformers),
        sources=tuple(str(s.id) for s in plant.heat_sources),
        suspected=suspected,
        cascades=tuple((str(c.id), tuple(str(s.id) for s in c.sources)) for c in plant.cascades),
        suspected_on=next((str(r.loop) for r in plant.risers if r.id == suspected), None),
    )


def _is_danger_alone(ticket: Ticket, complaints: Sequence[Complaint]) -> bool:
    """Whether nobody on it lacks heat: where the danger comes from is found with a meter, not drawn."""
    return ticket.danger and _OF_HEAT.isdisjoint(str(k) for c in complaints for k in c.kinds)


def _first_suspect(ticket: Ticket) -> Mapping[str, Any] | None:
    return next(iter(ticket.picture["suspects"]), None)


def _loop(plant: Plant, loop: Loop) -> tuple[str, str | None, str | None, str]:
    # Steam needs no pump, though a file may leave it to us whether a loop has one.
    by_steam = any(s.kind == "steam_boiler" for s in plant.heat_sources if s.id == loop.source)
    pump, relay = None if by_steam else loop.circulator, loop.relay
    return (
        str(loop.id),
        None if pump is None else str(pump.id),
        None if relay is None else str(relay.id),
        str(loop.source),
    )


def _elsewhere(session: Session, ticket: Ticket) -> dict[str, Complaint]:
    """Open complaints of the building that other tickets cover."""
    rows = session.scalars(
        select(Complaint)
        .where(Complaint.building_id == ticket.building_id, Complaint.closed_at.is_(None))
        .where(Complaint.ticket_id.is_not(None), Complaint.ticket_id != ticket.id)
        .where(Complaint.apartment.is_not(None))
    )
    return {str(c.apartment): c for c in rows}


def _rooms(session: Session, building_id: str) -> dict[str, str]:
    """The last room temperature that each home with an open complaint has told."""
    rows = session.execute(
        select(FactRow.apartment, FactRow.body)
        .join(Complaint, Complaint.id == FactRow.complaint_id)
        .where(FactRow.building_id == building_id, FactRow.withdrawn_at.is_(None))
        .where(Complaint.closed_at.is_(None), FactRow.apartment.is_not(None))
        .order_by(FactRow.at, FactRow.id)
    )
    return {
        str(apartment): f"{body['room_f']:.0f} F"
        for apartment, body in rows
        if body["type"] == "room_read" and body["room_f"] is not None
    }


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


def _mark(apartment: Apartment, known: _Known) -> ApartmentMark:
    home = str(apartment.id)
    state, words = _state(home, known)
    other = known.elsewhere.get(home) if state == "elsewhere" else None
    driven = apartment.valve or apartment.relay
    return ApartmentMark(
        apartment=home,
        floor=apartment.floor,
        line=apartment.line,
        loop=str(apartment.loop),
        transformer=str(driven.transformer) if driven and driven.transformer else None,
        state=state,
        words=words,
        detail=reference(str(other.ticket_id)) if other else known.rooms.get(home, ""),
        ticket=other.ticket_id if other else None,
        pump=str(apartment.circulator.id) if apartment.circulator else None,
        relay=str(apartment.relay.id) if apartment.relay else None,
    )


def _state(home: str, known: _Known) -> tuple[str, str]:
    """What the home is to the ticket, and the same in words."""
    complaint = known.told.get(home)
    if complaint is not None:
        told = f"reported {_kinds(complaint) or 'a problem'}"
        if home in known.explained:
            return "explained", f"{told}, the first suspect explains it"
        return "reported", told
    other = known.elsewhere.get(home)
    if other is not None:
        return "elsewhere", f"reported {_kinds(other) or 'a problem'}, on another ticket"
    if home not in known.reachable:
        return "unreachable", "nobody there can be reached by text"
    if home in known.served:
        return "predicted", "served by the suspected part, has not written"
    return "silent", "could write, has not"


def _kinds(complaint: Complaint) -> str:
    return " and ".join(WORDS.get(str(k), str(k).replace("_", " ")) for k in complaint.kinds)
