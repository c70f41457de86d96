"""Ask the rules again what explains all open complaints of a building, and bring its tickets in line.

Nothing is remembered from the last time: the diagnosis is computed from the facts that count now.
What is remembered are the tickets, because people act on them; each move of a complaint between
tickets is an event in the history of both.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import structlog
from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.diagnosis import Diagnosis, Group, ImpossibleEvidenceError, diagnose
from rules.model import ApartmentId, Care, Fact, Found, HourlyWeather, Household
from rules.plant import Plant
from service.store.tables import Complaint, FactRow, HouseholdRow, NumberRow, Ticket
from service.usecases.facts import evidence_from
from service.usecases.grouping import Cluster, Holding, assign
from service.usecases.plants import plant_of
from service.usecases.pressing import Scene, zone_of
from service.usecases.put_weather import weather_around
from service.usecases.ticket_rows import move_complaints, open_ticket, refresh_ticket

__all__ = ["rediagnose", "rediagnose_if_possible"]

log = structlog.get_logger()


@dataclass(frozen=True, slots=True)
class _Planned:
    """A cluster with the group of the diagnosis it came from."""

    cluster: Cluster
    group: Group | None


def rediagnose(
    session: Session,
    now: datetime,
    building_id: str | None,
    *,
    only: str | None = None,
    plain: bool = False,
) -> Diagnosis | None:
    """Bring the tickets of a building up to date; returns the diagnosis they rest on.

    Without a building, ``only`` names the one complaint to find a ticket for. ``plain`` leaves the
    diagnosis out: the last resort, so that a complaint gets a ticket even when computing fails.
    """
    complaints = _open_complaints(session, building_id, only)
    plant = plant_of(session, building_id)
    weather = weather_around(session, plant.weather_station if plant else None, now)
    diagnosis = None
    if plant is not None and complaints and not plain:
        diagnosis = _diagnose(session, plant, weather, now)
        plain = diagnosis is None
    scene = Scene(now, plant, zone_of(session, building_id), weather, diagnosis)
    planned = _plan(complaints, diagnosis, plain=plain)
    by_id = {c.id: c for c in complaints}
    tickets = _hold(session, now, building_id, planned, by_id)
    for ticket, plan in tickets:
        refresh_ticket(session, scene, ticket, plan.group)
    return diagnosis


def rediagnose_if_possible(session: Session, now: datetime, building_id: str | None) -> None:
    """The same where the work of a person must be kept even when computing fails."""
    if building_id is None:
        return
    try:
        with session.begin_nested():
            rediagnose(session, now, building_id)
    except Exception:
        log.exception("not_diagnosed_again", building=building_id)
        rediagnose(session, now, building_id, plain=True)


def _open_complaints(
    session: Session, building_id: str | None, only: str | None
) -> list[Complaint]:
    query = select(Complaint).where(Complaint.closed_at.is_(None))
    if building_id is not None:
        query = query.where(Complaint.building_id == building_id)
    else:
        query = query.where(Complaint.building_id.is_(None), Complaint.id == only)
    return list(session.scalars(query.order_by(Complaint.opened_at, Complaint.id)))


def _diagnose(
    session: Session, plant: Plant, weather: Sequence[HourlyWeather], now: datetime
) -> Diagnosis | None:
    rows = session.scalars(
        select(FactRow).where(FactRow.building_id == str(plant.id), FactRow.withdrawn_at.is_(None))
    )
    overruled = _overruled(session, plant)
    facts = [row for row in rows if row.complaint_id not in overruled]
    evidence = [e for e in evidence_from(facts) if _is_about(plant, e.fact)]
    try:
        return diagnose(plant, evidence, _households(session, plant), weather, now)
    except ImpossibleEvidenceError:
        # The tickets stay as they are until a person or a new fact resolves it.
        log.warning("evidence_contradicts_itself", building=str(plant.id))
        return None


def _overruled(session: Session, plant: Plant) -> set[str]:
    """Complaints from phones nobody knows, of homes that have reported for themselves."""
    rows = session.scalars(
        select(Complaint).where(
            Complaint.building_id == str(plant.id), Complaint.closed_at.is_(None)
        )
    ).all()
    own = {c.apartment for c in rows if c.confirmed}
    return {c.id for c in rows if not c.confirmed and c.apartment in own}


def _is_about(plant: Plant, fact: Fact) -> bool:
    """Whether the home or component is still in the building file, which may have been replaced."""
    if isinstance(fact, Found):
        return fact.component in plant.components
    return any(a.id == fact.apartment for a in plant.apartments)


def _households(session: Session, plant: Plant) -> list[Household]:
    """Apartments whose silence means something: somebody there can be reached by text."""
    rows = session.execute(
        select(HouseholdRow.apartment, HouseholdRow.care)
        .outerjoin(NumberRow, NumberRow.number == HouseholdRow.mobile)
        .where(HouseholdRow.building_id == str(plant.id), HouseholdRow.mobile.is_not(None))
        .where(NumberRow.stopped_at.is_(None))
    )
    care: dict[str, set[Care]] = {}
    for apartment, cares in rows:
        care.setdefault(apartment, set()).update(Care(c) for c in cares)
    known = {str(a.id) for a in plant.apartments}
    return [Household(ApartmentId(a), frozenset(c)) for a, c in sorted(care.items()) if a in known]


def _plan(
    complaints: Sequence[Complaint], diagnosis: Diagnosis | None, *, plain: bool
) -> list[_Planned]:
    """Danger alone, then the groups of the diagnosis, then whatever is left, each by itself."""
    left = {c.id: c for c in complaints}
    groups = diagnosis.groups if diagnosis is not None else ()
    planned = []
    for complaint in complaints:
        if complaint.danger and complaint.id in left:
            ids = frozenset(i for i, c in left.items() if _key(c) == _key(complaint))
            found = next((g for g in groups if complaint.apartment in g.apartments), None)
            planned.append(_Planned(Cluster(ids, danger=True), found))
            for complaint_id in ids:
                del left[complaint_id]
    for group in groups:
        ids = frozenset(i for i, c in left.items() if c.apartment in group.apartments)
        if ids:
            planned.append(_Planned(Cluster(ids), group))
        for complaint_id in ids:
            del left[complaint_id]
    return planned + _left_over(left, plain=plain)


def _left_over(left: dict[str, Complaint], *, plain: bool) -> list[_Planned]:
    together: dict[str, set[str]] = {}
    # Without a diagnosis nothing says that the present grouping is wrong.
    held = {_key(c): c.ticket_id for c in left.values() if plain and c.ticket_id}
    for complaint_id, complaint in left.items():
        key = held.get(_key(complaint)) or _key(complaint)
        together.setdefault(key, set()).add(complaint_id)
    return [_Planned(Cluster(frozenset(ids)), None) for ids in together.values()]


def _key(complaint: Complaint) -> str:
    """The same for all complaints of one home: they are never on two tickets."""
    return complaint.apartment or complaint.id


def _hold(
    session: Session,
    now: datetime,
    building_id: str | None,
    planned: Sequence[_Planned],
    by_id: dict[str, Complaint],
) -> list[tuple[Ticket, _Planned]]:
    """Find or open a ticket for each cluster and move the complaints there."""
    kept = assign([p.cluster for p in planned], _holdings(session, by_id))
    tickets: list[tuple[Ticket, _Planned]] = []
    for plan, ticket_id in zip(planned, kept, strict=True):
        members = [by_id[i] for i in sorted(plan.cluster.complaints)]
        if ticket_id is None and all(c.pinned for c in members):
            continue
        ticket = (
            session.get_one(Ticket, ticket_id)
            if ticket_id is not None
            else open_ticket(session, now, building_id)
        )
        ticket.building_id = building_id
        tickets.append((ticket, plan))
    for ticket, plan in tickets:
        members = [by_id[i] for i in sorted(plan.cluster.complaints)]
        move_complaints(session, now, ticket, members)
    return tickets


def _holdings(session: Session, by_id: dict[str, Complaint]) -> list[Holding]:
    ids = {c.ticket_id for c in by_id.values() if c.ticket_id is not None}
    rows = session.scalars(select(Ticket).where(Ticket.id.in_(ids), Ticket.state == "open"))
    return [
        Holding(
            ticket.id,
            ticket.opened_at,
            ticket.danger,
            frozenset(i for i, c in by_id.items() if c.ticket_id == ticket.id),
        )
        for ticket in rows
    ]
