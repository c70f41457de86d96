"""Whether a danger told on an apartment's page has raised its alert."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import Alert, InboxMessage
from service.usecases.hearing.web_doors import Door, open_door
from service.usecases.loading.page_names import VIA_PAGE

__all__ = ["danger_told_at", "danger_was_told"]

FRESH = timedelta(hours=12)


def danger_was_told(session: Session, now: datetime, key: str) -> bool:
    """Whether somebody here was alerted to a danger from this page, not long ago."""
    door = open_door(session, key)
    return door is not None and danger_told_at(session, now, door)


def danger_told_at(session: Session, now: datetime, door: Door) -> bool:
    """The same of a door that is known."""
    sent_here = InboxMessage.sender_id.startswith(
        f"{door.building}/{door.apartment}/", autoescape=True
    )
    found = session.scalar(
        select(Alert.id)
        .join(InboxMessage, InboxMessage.id == Alert.message_id)
        .where(InboxMessage.via == VIA_PAGE, sent_here)
        .where(Alert.at > now - FRESH, Alert.what.startswith("danger"))
        .limit(1)
    )
    return found is not None
