"""By when somebody must act on a ticket: gathers what the urgency rules want to know."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.diagnosis import Diagnosis
from rules.model import ApartmentId, Care, HourlyWeather, Kind
from rules.plant import Plant
from rules.urgency import Forecast, RespondBy, respond_by
from service.store.tables import Building, Complaint, FactRow, HouseholdRow, Ticket

__all__ = ["Scene", "because_json", "press", "zone_of"]

HOURS_AHEAD = tuple(float(h) for h in range(49))
# Only for homes we cannot place yet; a building has its own.
ZONE_OF_NOBODY = "America/New_York"


@dataclass(frozen=True, slots=True)
class Scene:
    """A building at one moment, as far as urgency is concerned."""

    now: datetime
    plant: Plant | None
    timezone: str
    weather: Sequence[HourlyWeather]
    diagnosis: Diagnosis | None


def press(
    session: Session, scene: Scene, ticket: Ticket, complaints: Sequence[Complaint]
) -> RespondBy:
    """The respond-by time of a ticket with its reasons."""
    kinds = frozenset(Kind(k) for c in complaints for k in c.kinds)
    told = _facts(session, complaints)
    rooms = _rooms(told)
    cold = complaints if Kind.TOO_COLD in kinds else ()
    homes = {(c.building_id, c.apartment or c.id) for c in complaints}
    return respond_by(
        now=scene.now,
        opened_at=ticket.opened_at,
        timezone=scene.timezone,
        heat_rule=scene.plant.heat_rule if scene.plant else None,
        weather=scene.weather,
        kinds=kinds,
        danger=tuple(sorted({str(d) for c in complaints for d in c.danger})),
        care=_care(session, complaints),
        lowest_room_f=min(rooms, default=None),
        highest_room_f=max(rooms, default=None),
        homes=len(homes),
        shared=ticket.scope != "apartment",
        indoor=_forecast(scene, cold, told=True),
        guessed=_forecast(scene, cold, told=False),
        answered=_answered(told),
    )


def because_json(found: RespondBy) -> list[Any]:
    """The reasons as JSON, in the order the rules gave them."""
    return [{"rule": b.rule, "source": b.source, "at": b.at.isoformat()} for b in found.because]


def zone_of(session: Session, building_id: str | None) -> str:
    """The building's timezone, or that of any building while the home is not known."""
    query = select(Building.document).order_by(Building.id).limit(1)
    if building_id is not None:
        query = query.where(Building.id == building_id)
    document = session.scalar(query)
    return str(document["timezone"]) if document else ZONE_OF_NOBODY


def _care(session: Session, complaints: Sequence[Complaint]) -> frozenset[Care]:
    found = {str(c) for complaint in complaints for c in complaint.care}
    for complaint in complaints:
        rows = session.scalars(
            select(HouseholdRow.care).where(
                HouseholdRow.building_id == complaint.building_id,
                HouseholdRow.apartment == complaint.apartment,
            )
        )
        found.update(str(c) for care in rows for c in care)
    return frozenset(Care(c) for c in found)


def _rooms(told: Sequence[FactRow]) -> list[float]:
    """The last room temperature each household told."""
    last: dict[str | None, float] = {}
    for row in told:
        if row.body["type"] == "room_read" and row.body["room_f"] is not None:
            last[row.complaint_id] = row.body["room_f"]
    return list(last.values())


def _answered(told: Sequence[FactRow]) -> frozenset[tuple[str, str]]:
    """What each household answered last on each topic."""
    last: dict[tuple[str | None, str], str] = {}
    for row in told:
        if row.body["type"] == "answered":
            last[row.complaint_id, row.body["topic"]] = row.body["means"]
    return frozenset((topic, means) for (_, topic), means in last.items())


def _facts(session: Session, complaints: Sequence[Complaint]) -> list[FactRow]:
    """What was told with these complaints and holds, in its order."""
    query = (
        select(FactRow)
        .where(FactRow.complaint_id.in_([c.id for c in complaints]))
        .where(FactRow.withdrawn_at.is_(None))
        .order_by(FactRow.at, FactRow.id)
    )
    return list(session.scalars(query))


def _forecast(scene: Scene, complaints: Sequence[Complaint], *, told: bool) -> Forecast | None:
    """The room temperature of the home that gets coldest, of those that told theirs or did not."""
    if scene.diagnosis is None:
        return None
    homes = {ApartmentId(c.apartment) for c in complaints if c.apartment is not None}
    curves = [
        scene.diagnosis.room_forecast(home, HOURS_AHEAD)
        for home in sorted(homes)
        if _is_home(scene, home) and scene.diagnosis.has_told_room(home) is told
    ]
    if not curves:
        return None
    worst = min(curves, key=min)
    steps = zip(HOURS_AHEAD, worst, strict=True)
    return Forecast(tuple((scene.now + timedelta(hours=h), f) for h, f in steps))


def _is_home(scene: Scene, apartment: ApartmentId) -> bool:
    return scene.plant is not None and any(a.id == apartment for a in scene.plant.apartments)
