"""Diagnose again where something other than a text has changed: the weather, a building file."""

from __future__ import annotations

from datetime import datetime

import structlog
from sqlalchemy import select

from service.store.tables import Building, Complaint
from service.usecases.diagnosing.rediagnose import rediagnose
from service.usecases.rows.services import Services

__all__ = ["catch_up"]

log = structlog.get_logger()


def catch_up(
    services: Services,
    now: datetime,
    *,
    building: str | None = None,
    station: str | None = None,
) -> int:
    """Bring the tickets of buildings with open complaints up to date; returns how many buildings.

    What was changed is stored already, so a failure here is only logged: the next text tries again.
    """
    with services.db.reading() as session:
        open_at = select(Complaint.building_id).where(Complaint.closed_at.is_(None)).distinct()
        rows = session.execute(
            select(Building.id, Building.document).where(Building.id.in_(open_at))
        ).all()
    chosen = [
        name
        for name, document in rows
        if building in {None, name} and station in {None, document.get("weather_station")}
    ]
    for building_id in chosen:
        try:
            with services.deciding() as session:
                rediagnose(session, now, building_id)
        except Exception as error:  # noqa: BLE001 - see above
            log.warning("not_diagnosed_again", building=building_id, error=type(error).__name__)
    return len(chosen)
