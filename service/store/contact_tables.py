"""The tables about who is texting and whom we text at once; read with ``service.store.tables``."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from service.store.base import Base

__all__ = ["Broadcast", "NumberHome", "SenderCode"]


class NumberHome(Base):
    """A number that was shown to belong to a home that it is not registered for."""

    __tablename__ = "number_homes"
    __table_args__ = (UniqueConstraint("number", "building_id", "apartment"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[str]
    building_id: Mapped[str] = mapped_column(ForeignKey("buildings.id"), index=True)
    apartment: Mapped[str]
    how: Mapped[str] = mapped_column(String(8))  # code, person
    shown_at: Mapped[datetime]


class SenderCode(Base):
    """A code texted to a registered phone, to be sent back by the new one; only its hash is kept."""

    __tablename__ = "sender_codes"
    __table_args__ = (Index(None, "building_id", "apartment", "made_at"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    number: Mapped[str] = mapped_column(index=True)  # the phone that has to send it
    building_id: Mapped[str] = mapped_column(ForeignKey("buildings.id"))
    apartment: Mapped[str]
    code_hash: Mapped[str]
    made_at: Mapped[datetime]
    ends_at: Mapped[datetime]
    tries: Mapped[int] = mapped_column(default=0)
    done_at: Mapped[datetime | None]  # used, or given up


class Broadcast(Base):
    """News that the desk sent to many households at once."""

    __tablename__ = "broadcasts"
    id: Mapped[int] = mapped_column(primary_key=True)
    request_id: Mapped[str] = mapped_column(unique=True)
    building_id: Mapped[str] = mapped_column(ForeignKey("buildings.id"), index=True)
    ticket_id: Mapped[str | None] = mapped_column(ForeignKey("tickets.id"), index=True)
    at: Mapped[datetime]
    asked: Mapped[dict[str, Any]]  # what was to be sent
    answer: Mapped[dict[str, Any]]  # what became of it
