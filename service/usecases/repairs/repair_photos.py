"""A technician's photos of a repair; cleaned like those of tenants, and for staff only."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import RepairPhoto
from service.usecases.home.web_photos import LARGEST_BYTES, Picture, made_anew
from service.usecases.rows.ids import new_id

__all__ = [
    "LARGEST_BYTES",
    "MOST_PHOTOS",
    "Picture",
    "add_photos",
    "made_anew",
    "photo_content",
    "photos_of_repair",
]

MOST_PHOTOS: Final = 4  # a closing

Shown = tuple[str, datetime, int, int]  # (id, at, width, height)


def add_photos(
    session: Session,
    now: datetime,
    ticket_id: str,
    component: str | None,
    pictures: Sequence[Picture],
) -> None:
    """Keep pictures with the ticket and the component they are about."""
    for picture in pictures[:MOST_PHOTOS]:
        session.add(
            RepairPhoto(
                id=new_id("p"),
                ticket_id=ticket_id,
                component=component,
                at=now,
                width=picture.width,
                height=picture.height,
                content=picture.content,
            )
        )
    session.flush()


def photo_content(session: Session, photo_id: str) -> bytes | None:
    """A picture as JPEG."""
    return session.scalar(select(RepairPhoto.content).where(RepairPhoto.id == photo_id))


def photos_of_repair(session: Session, ticket_ids: Sequence[str]) -> tuple[Shown, ...]:
    """The pictures of some tickets, oldest first; without their bytes."""
    rows = session.execute(
        select(RepairPhoto.id, RepairPhoto.at, RepairPhoto.width, RepairPhoto.height)
        .where(RepairPhoto.ticket_id.in_(ticket_ids))
        .order_by(RepairPhoto.at, RepairPhoto.id)
    )
    return tuple((photo, at, width, height) for photo, at, width, height in rows)
