"""Times as the desk reads them."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from service.usecases.rows.pressing import zone_of

__all__ = ["when_words"]


def when_words(session: Session, building_id: str | None, at: datetime) -> str:
    """A time in building time, such as "Sat Jan 10, 7:05 pm"."""
    local = at.astimezone(ZoneInfo(zone_of(session, building_id)))
    half = "am" if local.hour < 12 else "pm"
    return f"{local:%a %b} {local.day}, {local.hour % 12 or 12}:{local.minute:02d} {half}"
