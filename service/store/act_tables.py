"""The tables about what people decide on tickets; read with ``service.store.tables``."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from service.store.base import Base

__all__ = ["ActedTicket", "DeskAct"]


class DeskAct(Base):
    """Something done to tickets, by a person or by grouping, with what is needed to undo it.

    ``body`` holds ``before`` and ``after``: for each thing that changed (``ticket/<id>/<field>``,
    ``complaint/<id>``, ``fact/<id>``, ``talk/<complaint id>``) what it was and what it became.
    """

    __tablename__ = "desk_acts"
    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime]
    account: Mapped[str]  # of the person, or "endswitch" for moves of grouping
    name: Mapped[str]  # what colleagues read
    act: Mapped[str] = mapped_column(String(16))
    ticket_id: Mapped[str] = mapped_column(ForeignKey("tickets.id"), index=True)
    complaint_id: Mapped[str | None] = mapped_column(ForeignKey("complaints.id"), index=True)
    says: Mapped[str]  # what was done, in words
    body: Mapped[dict[str, Any]]
    undone_at: Mapped[datetime | None]
    undone_by: Mapped[str | None]  # what colleagues read


class ActedTicket(Base):
    """A ticket that an act has changed, with the version it has had since."""

    __tablename__ = "desk_act_tickets"
    act_id: Mapped[int] = mapped_column(
        ForeignKey("desk_acts.id"), primary_key=True, autoincrement=False
    )
    ticket_id: Mapped[str] = mapped_column(ForeignKey("tickets.id"), primary_key=True, index=True)
    version: Mapped[int]
