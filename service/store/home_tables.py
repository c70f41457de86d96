"""The tables of the tenant's page: doors, numbers, photos; read with ``service.store.tables``."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from service.store.base import Base

__all__ = ["HomeDoor", "HomePhone", "HomePhoto"]


class HomeDoor(Base):
    """A card or link that opens one apartment's page; only the hash of its key is kept."""

    __tablename__ = "home_doors"
    id: Mapped[int] = mapped_column(primary_key=True)
    key_hash: Mapped[str] = mapped_column(unique=True)
    building_id: Mapped[str] = mapped_column(ForeignKey("buildings.id"), index=True)
    apartment: Mapped[str]
    batch: Mapped[str] = mapped_column(index=True)  # one printing, so that it is not done twice
    created_at: Mapped[datetime]
    revoked_at: Mapped[datetime | None]


class HomePhone(Base):
    """A number that somebody left on an apartment's page."""

    __tablename__ = "home_phones"
    __table_args__ = (Index(None, "building_id", "apartment"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    building_id: Mapped[str] = mapped_column(ForeignKey("buildings.id"))
    apartment: Mapped[str]
    number: Mapped[str]
    given_at: Mapped[datetime]
    bound: Mapped[bool]  # whether we write to it


class HomePhoto(Base):
    """A picture sent with a report, made anew from its pixels, without what the camera added."""

    __tablename__ = "home_photos"
    id: Mapped[str] = mapped_column(primary_key=True)
    complaint_id: Mapped[str] = mapped_column(ForeignKey("complaints.id"), index=True)
    once: Mapped[str] = mapped_column(unique=True)
    at: Mapped[datetime]
    width: Mapped[int]
    height: Mapped[int]
    content: Mapped[bytes]  # JPEG
