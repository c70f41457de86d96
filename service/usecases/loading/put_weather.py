"""Outdoor temperatures of a station; a later word on an hour replaces an earlier one."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.model import HourlyWeather
from service.store.tables import WeatherHour

__all__ = ["put_weather", "weather_around"]

# The diagnosis looks at the nights behind, urgency at the nights ahead.
AROUND = timedelta(hours=48)


def put_weather(session: Session, station: str, hours: Sequence[tuple[datetime, float]]) -> int:
    """Store (time, outdoor F) pairs; returns how many distinct hours there were."""
    wanted = dict(hours)
    if not wanted:
        return 0
    known = {
        row.at: row
        for row in session.scalars(
            select(WeatherHour).where(
                WeatherHour.station == station,
                WeatherHour.at >= min(wanted),
                WeatherHour.at <= max(wanted),
            )
        )
    }
    for at, outdoor_f in wanted.items():
        if at in known:
            known[at].outdoor_f = outdoor_f
        else:
            session.add(WeatherHour(station=station, at=at, outdoor_f=outdoor_f))
    return len(wanted)


def weather_around(session: Session, station: str | None, now: datetime) -> list[HourlyWeather]:
    """The station's weather from 48 hours back to 48 hours ahead, in order."""
    if station is None:
        return []
    rows = session.scalars(
        select(WeatherHour)
        .where(WeatherHour.station == station)
        .where(WeatherHour.at >= now - AROUND, WeatherHour.at <= now + AROUND)
        .order_by(WeatherHour.at)
    )
    return [HourlyWeather(row.at, row.outdoor_f) for row in rows]
