"""Homes that are colder than the heat law allows, as far as they have told; of all buildings at once.

The same lines and the same judgement as in a building's record (``show_heat_record``), but only those of
reports that are open, and in a number of queries that does not grow with the buildings.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.urgency.heat_law import legal_floor_f
from service.store.tables import Building, Closure, Complaint, FactRow, Ticket
from service.usecases.showing.heat_told import outdoors_of, taken_back_at

__all__ = ["cold_now"]


@dataclass(frozen=True, slots=True)
class _Place:
    """What of a building the law and the weather hang on."""

    timezone: str
    heat_rule: str | None
    station: str | None


def cold_now(session: Session) -> dict[str, tuple[str, ...]]:
    """The homes of each building that told last that they are under the law of that hour."""
    told = [
        (fact, complaint)
        for fact, complaint in session.execute(
            select(FactRow, Complaint)
            .join(Complaint, Complaint.id == FactRow.complaint_id)
            .where(Complaint.closed_at.is_(None), FactRow.apartment.is_not(None))
            .where(FactRow.building_id.is_not(None))
            .order_by(FactRow.at, FactRow.id)
        )
        if fact.body["type"] == "room_read" and fact.body["room_f"] is not None
    ]
    if not told:
        return {}
    buildings = {str(fact.building_id) for fact, _ in told}
    places = _places(session, buildings)
    stations = {place.station for place in places.values() if place.station is not None}
    outdoors = outdoors_of(session, stations, [fact.at for fact, _ in told])
    closings = _closings(session, buildings)
    last: dict[tuple[str, str], bool] = {}
    for fact, complaint in told:
        building = str(fact.building_id)
        if building not in places or taken_back_at(fact, complaint, closings[building]) is not None:
            continue
        place = places[building]
        outdoor_f = outdoors[place.station].at(fact.at) if place.station in outdoors else None
        floor_f = legal_floor_f(place.heat_rule, fact.at, place.timezone, outdoor_f)
        if floor_f is not None:
            last[building, str(fact.apartment)] = float(fact.body["room_f"]) < floor_f
    found: dict[str, list[str]] = {}
    for (building, apartment), is_cold in sorted(last.items()):
        if is_cold:
            found.setdefault(building, []).append(apartment)
    return {building: tuple(homes) for building, homes in found.items()}


def _places(session: Session, buildings: Iterable[str]) -> Mapping[str, _Place]:
    rows = session.execute(
        select(Building.id, Building.document).where(Building.id.in_(set(buildings)))
    )
    return {
        str(building): _Place(
            str(document["timezone"]), document.get("heat_rule"), document.get("weather_station")
        )
        for building, document in rows
    }


def _closings(session: Session, buildings: Iterable[str]) -> Mapping[str, set[datetime]]:
    found: dict[str, set[datetime]] = defaultdict(set)
    for building, at in session.execute(
        select(Ticket.building_id, Closure.closed_at)
        .join(Ticket, Ticket.id == Closure.ticket_id)
        .where(Ticket.building_id.in_(set(buildings)))
    ):
        found[str(building)].add(at)
    return found
