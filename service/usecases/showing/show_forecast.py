"""How warm the homes of a ticket will be, hour by hour, against what the law asks for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.model import ApartmentId
from rules.plant import Plant
from rules.urgency.forecast import Forecast, Outdoors, first_below
from rules.urgency.heat_law import highest_floor_f, legal_floor_f, texts_in_force
from service.store.tables import Complaint, FactRow
from service.usecases.diagnosing.ask_rules import asked_of, believe_lately
from service.usecases.diagnosing.record_finding import ticket_row
from service.usecases.loading.plants import plant_of
from service.usecases.loading.put_weather import weather_around

__all__ = ["ForecastHour", "ForecastView", "show_forecast"]

HOURS_AHEAD = tuple(float(h) for h in range(49))


@dataclass(frozen=True, slots=True)
class ForecastHour:
    """One hour: temperatures in F; None where nobody knows or no law holds."""

    at: datetime
    room_f: float
    floor_f: float | None
    outdoor_f: float | None


@dataclass(frozen=True, slots=True)
class ForecastView:
    """The home that gets coldest, from now on. ``homes`` are all that were looked at."""

    apartment: str
    homes: tuple[str, ...]
    timezone: str
    hours: tuple[ForecastHour, ...]
    law_steps: tuple[tuple[datetime, float | None], ...]  # from when on which floor holds
    below_at: datetime | None  # the first minute under the legal floor
    told_f: float | None  # the last room temperature the household told
    told_at: datetime | None
    law: str | None  # the rule's name, where there is one


def show_forecast(session: Session, now: datetime, ticket_id: str) -> ForecastView | None:
    """The forecast for the coldest home of an open ticket.

    None when no home of it is known, or nothing can be computed for its building.

    Raises:
        NotFoundError: there is no such ticket.
    """
    ticket = ticket_row(session, ticket_id)
    plant = plant_of(session, ticket.building_id)
    if plant is None or ticket.state != "open":
        return None
    known = {str(a.id) for a in plant.apartments}
    told = session.scalars(
        select(Complaint.apartment)
        .where(Complaint.ticket_id == ticket.id, Complaint.closed_at.is_(None))
        .distinct()
    )
    homes = tuple(sorted(a for a in told if a in known))
    asked = asked_of(session, now, ticket.building_id) if homes else None
    belief = believe_lately(asked, now) if asked is not None else None
    if belief is None or belief.diagnosis is None:
        return None
    since = (now - belief.at).total_seconds() / 3600
    hours = tuple(h + since for h in HOURS_AHEAD)
    curves = {a: belief.diagnosis.room_forecast(ApartmentId(a), hours) for a in homes}
    return _view(session, now, plant, curves)


def _view(
    session: Session, now: datetime, plant: Plant, curves: Mapping[str, tuple[float, ...]]
) -> ForecastView:
    coldest = min(curves, key=lambda a: min(curves[a]))
    outdoors = Outdoors(weather_around(session, plant.weather_station, now))
    times = [now + timedelta(hours=h) for h in HOURS_AHEAD]

    def floor_f(at: datetime) -> float | None:
        return legal_floor_f(plant.heat_rule, at, plant.timezone, outdoors.at(at))

    forecast = Forecast(tuple(zip(times, curves[coldest], strict=True)))
    told_f, told_at = _told(session, str(plant.id), coldest)
    texts = texts_in_force(plant.heat_rule, now.date())
    return ForecastView(
        apartment=coldest,
        homes=tuple(curves),
        timezone=plant.timezone,
        hours=tuple(
            ForecastHour(at, room_f, floor_f(at), outdoors.at(at)) for at, room_f in forecast.hours
        ),
        law_steps=_steps(now, floor_f),
        below_at=first_below(forecast, floor_f, highest_floor_f(plant.heat_rule) or 0.0),
        told_f=told_f,
        told_at=told_at,
        law=texts[0].name if texts else None,
    )


def _steps(
    now: datetime, floor_f: Callable[[datetime], float | None]
) -> tuple[tuple[datetime, float | None], ...]:
    """Where the floor changes; laws speak of quarters of an hour at the finest."""
    steps: list[tuple[datetime, float | None]] = [(now, floor_f(now))]
    at = now.replace(minute=now.minute // 15 * 15, second=0, microsecond=0)
    while (at := at + timedelta(minutes=15)) < now + timedelta(hours=HOURS_AHEAD[-1]):
        floor = floor_f(at)
        if floor != steps[-1][1]:
            steps.append((at, floor))
    return tuple(steps)


def _told(
    session: Session, building_id: str, apartment: str
) -> tuple[float | None, datetime | None]:
    rows = session.scalars(
        select(FactRow)
        .join(Complaint, Complaint.id == FactRow.complaint_id)
        .where(FactRow.building_id == building_id, FactRow.apartment == apartment)
        .where(FactRow.withdrawn_at.is_(None), Complaint.closed_at.is_(None))
        .order_by(FactRow.at.desc(), FactRow.id.desc())
    )
    for row in rows:
        if row.body["type"] == "room_read" and row.body["room_f"] is not None:
            return float(row.body["room_f"]), row.at
    return None, None
