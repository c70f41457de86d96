"""Five hundred open tickets, written through the store, with pictures that the diagnosis has made.

Twenty-one invented houses that are alike, twenty-four homes each. Every home of the first house is
diagnosed by itself; its neighbours in the other houses have reported the same and get the same
picture, so that filling the database takes seconds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy.orm import Session
from whole_service import EVENING, Running

from rules.diagnosis import diagnose
from rules.model import (
    ApartmentId,
    Evidence,
    Fact,
    Household,
    Kind,
    Noise,
    Reported,
    RoomRead,
)
from rules.plant import Plant
from service.auth.roles import Role
from service.auth.who import COMMAND_LINE
from service.store.tables import Complaint, FactRow, Ticket
from service.usecases.loading.load_building import load_building
from service.usecases.loading.plants import plant_of
from service.usecases.loading.put_weather import put_weather, weather_around
from service.usecases.rows.facts import fact_body
from service.usecases.rows.ids import new_id
from service.usecases.rows.pressing import Scene
from service.usecases.rows.ticket_rows import move_complaints, open_ticket, refresh_ticket
from service.usecases.staff.accounts import add_account
from tests.houses import a_boiler, a_home, a_house, a_loop, a_valve, places

__all__ = ["STOPS_TODAY", "TECHNICIAN", "TICKETS", "fill_queue"]

TICKETS = 500
TECHNICIAN = "r.moreno"
STOPS_TODAY = 6  # tickets on the technician's list; the rest is with colleagues
_HOUSES = 21
_FLOORS, _LINES = 6, "ABCD"
_STATION = "kqry"
_COLLEAGUES = ("A. Okafor", "J. Lindqvist", "T. Baptiste", "M. Haddad")
# What the homes of a house report, one after the other.
_SAID: tuple[tuple[Kind, float | None, Noise | None], ...] = (
    (Kind.TOO_COLD, 59.0, None),
    (Kind.TOO_HOT, 82.0, None),
    (Kind.TOO_COLD, None, None),
    (Kind.NOISE, None, Noise.BANG),
    (Kind.TOO_COLD, 63.0, None),
)


@dataclass(frozen=True, slots=True)
class _Pattern:
    """What a home of the first house has reported, and what was made of it."""

    home: ApartmentId
    at: datetime
    facts: Sequence[Fact]
    ticket: Ticket


def fill_queue(service: Running) -> list[str]:
    """Write the tickets; returns the ids of the technician's, in the order of their list."""
    with service.services.db.transaction() as session:
        put_weather(
            session, _STATION, [(EVENING + timedelta(hours=h), 20.0) for h in range(-48, 49)]
        )
        add_account(session, EVENING, COMMAND_LINE, TECHNICIAN, "R. Moreno", Role.TRUCK)
        houses = [f"house-{number}" for number in range(1, _HOUSES + 1)]
        for number, house in enumerate(houses, 1):
            load_building(session, EVENING, house, _house(house, f"{number} Quarry Street"))
        plant = plant_of(session, houses[0])
        if plant is None:
            raise RuntimeError("the invented house is refused")
        made = [_diagnosed(session, plant, n) for n in range(len(plant.apartments))]
        written = [pattern.ticket for pattern in made]
        wanted = [(house, pattern) for house in houses[1:] for pattern in made]
        for house, pattern in wanted[: TICKETS - len(written)]:
            written.append(_alike(session, pattern, house))
        written.sort(key=lambda ticket: (ticket.respond_by, ticket.opened_at, ticket.id))
        for n, ticket in enumerate(written):
            mine = n < STOPS_TODAY
            ticket.assigned_to = TECHNICIAN if mine else _COLLEAGUES[n % len(_COLLEAGUES)]
        return [ticket.id for ticket in written[:STOPS_TODAY]]


def _diagnosed(session: Session, plant: Plant, n: int) -> _Pattern:
    home, at = plant.apartments[n].id, EVENING - timedelta(minutes=25 * (n + 1))
    facts = _facts(home, *_SAID[n % len(_SAID)])
    weather = weather_around(session, _STATION, EVENING)
    evidence = [Evidence("m_bench", at, fact) for fact in facts]
    people = [Household(apartment.id) for apartment in plant.apartments]
    diagnosis = diagnose(plant, evidence, people, weather, EVENING)
    ticket = open_ticket(session, EVENING, "house-1", at)
    pattern = _Pattern(home, at, facts, ticket)
    _complain(session, ticket, pattern)
    scene = Scene(EVENING, plant, "America/New_York", weather, diagnosis)
    refresh_ticket(session, scene, ticket, [(group, 1) for group in diagnosis.groups])
    return pattern


def _alike(session: Session, pattern: _Pattern, house: str) -> Ticket:
    first = pattern.ticket
    ticket = open_ticket(session, EVENING, house, pattern.at)
    ticket.scope, ticket.component, ticket.picture = first.scope, first.component, first.picture
    ticket.because, ticket.respond_by = first.because, first.respond_by
    _complain(session, ticket, pattern)
    return ticket


def _complain(session: Session, ticket: Ticket, pattern: _Pattern) -> None:
    complaint = Complaint(
        id=new_id("c"),
        building_id=ticket.building_id,
        apartment=pattern.home,
        number="+12125550100",
        opened_at=pattern.at,
        kinds=sorted(k.value for f in pattern.facts if isinstance(f, Reported) for k in f.kinds),
        care=[],
        danger=[],
    )
    session.add(complaint)
    session.flush()
    for fact in pattern.facts:
        session.add(
            FactRow(
                building_id=ticket.building_id,
                complaint_id=complaint.id,
                apartment=pattern.home,
                source="m_bench",
                at=pattern.at,
                body=fact_body(fact),
            )
        )
    move_complaints(session, pattern.at, ticket, [complaint])


def _facts(home: ApartmentId, kind: Kind, room_f: float | None, noise: Noise | None) -> list[Fact]:
    reported = Reported(home, frozenset({kind}), noise)
    return [reported] if room_f is None else [reported, RoomRead(home, room_f, 70.0)]


def _house(house: str, name: str) -> dict[str, Any]:
    homes = []
    for floor, line in places(_FLOORS, _LINES):
        n = 1 if floor <= _FLOORS // 2 else 2
        homes.append(a_home(floor, line, on=n, valve=a_valve(f"xf-{n}", va=7.0)))
    return a_house(
        homes,
        [a_loop(n, transformer=f"xf-{n}") for n in (1, 2)],
        sources=[a_boiler(hot_water="indirect_priority")],
        transformers=("xf-1", "xf-2"),
        building=house,
        name=name,
        heat_rule="us-ny-nyc",
        weather_station=_STATION,
    )
