"""What comes from phones that were without signal; read with ``service.store.tables``."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from service.store.base import Base

__all__ = ["TruckArrival"]


class TruckArrival(Base):
    """A reading, note or photo as it came from a phone, once, and what became of it.

    The phone makes the id, so that sending again after a lost answer changes nothing.
    """

    __tablename__ = "truck_arrivals"
    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    ticket_id: Mapped[str | None] = mapped_column(ForeignKey("tickets.id"), index=True)
    kind: Mapped[str] = mapped_column(String(8))  # reading, note, photo
    body: Mapped[dict[str, Any]]  # without the picture of a photo
    entered_at: Mapped[datetime]  # by the phone's clock
    arrived_at: Mapped[datetime]
    account: Mapped[str]
    state: Mapped[str] = mapped_column(String(8))  # taken, aside
    says: Mapped[str]  # what became of it, in words for the technician
