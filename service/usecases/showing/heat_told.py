"""Temperatures that households told: which of them stand, and the weather in which they were told."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.model import HourlyWeather
from rules.urgency.forecast import Outdoors
from service.store.tables import Complaint, FactRow, WeatherHour

__all__ = ["outdoors_of", "taken_back_at"]

BEFORE = timedelta(hours=6)  # of weather that may still be the last known at an hour


def taken_back_at(
    fact: FactRow, complaint: Complaint, closings: Collection[datetime]
) -> datetime | None:
    """When the household took back what it told; None: it stands.

    With its report it ends as evidence, but stays what was told. A report that was opened again after a
    closing bears no trace of its first end.
    """
    ended = fact.withdrawn_at == complaint.closed_at or fact.withdrawn_at in closings
    return None if ended else fact.withdrawn_at


def outdoors_of(
    session: Session, stations: Iterable[str], times: Iterable[datetime]
) -> dict[str, Outdoors]:
    """The weather of stations at these times, as far as it is known."""
    wanted, when = set(stations), list(times)
    if not wanted or not when:
        return {}
    hours: dict[str, list[HourlyWeather]] = defaultdict(list)
    for row in session.scalars(
        select(WeatherHour)
        .where(WeatherHour.station.in_(wanted))
        .where(WeatherHour.at >= min(when) - BEFORE, WeatherHour.at <= max(when))
    ):
        hours[row.station].append(HourlyWeather(row.at, row.outdoor_f))
    return {station: Outdoors(found) for station, found in hours.items()}
