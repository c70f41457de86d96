"""By when somebody must act on a ticket: gathers what the urgency rules want to know."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.diagnosis import Diagnosis
from rules.model import ApartmentId, Care, HourlyWeather, Kind
from rules.plant import Plant
from rules.urgency import Forecast, Report, RespondBy, respond_by, stages
from service.store.tables import Building, Complaint, FactRow, HouseholdRow, Ticket
from service.usecases.rows.nothing_found import ENOUGH, visits_in_vain
from service.usecases.rows.told_before_the_no import room_before

__all__ = ["Scene", "because_json", "care_of", "press", "zone_of"]

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
    told, in_vain = _facts(session, complaints), visits_in_vain(session, complaints)
    curves = {
        **_coldest(scene, complaints, told=True),
        **_coldest(scene, complaints, told=False),
    }
    return respond_by(
        now=scene.now,
        timezone=scene.timezone,
        heat_rule=scene.plant.heat_rule if scene.plant else None,
        weather=scene.weather,
        reports=[
            stage
            for complaint in complaints
            for stage in _as_told(
                _report(
                    session,
                    complaint,
                    told[complaint.id],
                    curves.get(complaint.apartment),
                    seen=len(in_vain.get(complaint.id, ())) >= ENOUGH,
                ),
                told[complaint.id],
            )
        ],
        shared=ticket.scope != "apartment",
    )


def _report(
    session: Session,
    complaint: Complaint,
    told: Sequence[FactRow],
    ahead: Forecast | None,
    *,
    seen: bool,
) -> Report:
    """What one household has told; ``ahead`` is the forecast of its room, if that is the coldest."""
    measured = next((room_f for _, room_f in reversed(_rooms(told))), None)
    room_f = room_before(session, complaint) if measured is None else measured
    return Report(
        home=complaint.apartment or complaint.id,
        since=complaint.since,
        kinds=frozenset(Kind(k) for k in complaint.kinds),
        danger=tuple(sorted(str(d) for d in complaint.danger)),
        care=care_of(session, complaint),
        room_f=room_f,
        answered=_answered(told),
        indoor=ahead if measured is not None else None,
        guessed=ahead if room_f is None else None,
        seen=seen,
    )


def _as_told(report: Report, told: Sequence[FactRow]) -> Iterator[Report]:
    """The report as it stood at each moment at which more was told."""
    first: dict[Kind, datetime] = {}
    for row in told:
        for kind in row.body["kinds"] if row.body["type"] == "reported" else ():
            first.setdefault(Kind(kind), row.at)
    return stages(report, _rooms(told), first)


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


def care_of(session: Session, complaint: Complaint) -> frozenset[Care]:
    """Who of a home is told or known to take cold or heat badly."""
    rows = session.scalars(
        select(HouseholdRow.care).where(
            HouseholdRow.building_id == complaint.building_id,
            HouseholdRow.apartment == complaint.apartment,
        )
    )
    on_file = {str(c) for care in rows for c in care}
    return frozenset(Care(c) for c in on_file | {str(c) for c in complaint.care})


def _rooms(told: Sequence[FactRow]) -> list[tuple[datetime, float]]:
    """The room temperatures that a household told, with their times."""
    read = ((row.at, row.body["room_f"]) for row in told if row.body["type"] == "room_read")
    return [(at, float(room_f)) for at, room_f in read if room_f is not None]


def _answered(told: Sequence[FactRow]) -> frozenset[tuple[str, str]]:
    """What a household answered last on each topic."""
    answers = (row.body for row in told if row.body["type"] == "answered")
    return frozenset({body["topic"]: body["means"] for body in answers}.items())


def _facts(session: Session, complaints: Sequence[Complaint]) -> Mapping[str, list[FactRow]]:
    """What was told with each complaint and holds, in its order."""
    query = (
        select(FactRow)
        .where(FactRow.complaint_id.in_([c.id for c in complaints]))
        .where(FactRow.withdrawn_at.is_(None))
        .order_by(FactRow.at, FactRow.id)
    )
    found: dict[str, list[FactRow]] = {c.id: [] for c in complaints}
    for row in session.scalars(query):
        found[str(row.complaint_id)].append(row)
    return found


def _coldest(
    scene: Scene, complaints: Sequence[Complaint], *, told: bool
) -> dict[str | None, Forecast]:
    """The forecast of the home that gets coldest, of those that told a temperature or did not."""
    if scene.diagnosis is None:
        return {}
    cold = {c.apartment for c in complaints if Kind.TOO_COLD.value in c.kinds}
    curves = {
        home: scene.diagnosis.room_forecast(home, HOURS_AHEAD)
        for home in sorted(ApartmentId(a) for a in cold if a is not None)
        if _is_home(scene, home) and scene.diagnosis.has_told_room(home) is told
    }
    if not curves:
        return {}
    worst = min(curves, key=lambda home: min(curves[home]))
    steps = zip(HOURS_AHEAD, curves[worst], strict=True)
    return {str(worst): Forecast(tuple((scene.now + timedelta(hours=h), f) for h, f in steps))}


def _is_home(scene: Scene, apartment: ApartmentId) -> bool:
    return scene.plant is not None and any(a.id == apartment for a in scene.plant.apartments)
