"""The tables about repairs: turns of a thermostat asked for, what was stated, how it ended, photos."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from service.store.base import Base

__all__ = ["ClosureDetail", "Forecast", "RepairPhoto", "TurnAsk"]


class TurnAsk(Base):
    """A household was asked to turn its thermostat while somebody watches the valve."""

    __tablename__ = "turn_asks"
    id: Mapped[int] = mapped_column(primary_key=True)
    ticket_id: Mapped[str] = mapped_column(ForeignKey("tickets.id"), index=True)
    complaint_id: Mapped[str] = mapped_column(ForeignKey("complaints.id"), index=True)
    topic: Mapped[str] = mapped_column(String(12))  # turn_down, turn_up; from afar q_down, q_up
    asked_at: Mapped[datetime]
    after_seq: Mapped[int]  # the last text that had come in by then, from anybody
    asked_by: Mapped[str]  # an account, a link or a token
    outbox_id: Mapped[int] = mapped_column(ForeignKey("outbox.id"))
    valve: Mapped[str | None]  # the component to watch, if the home has a valve
    stroke_seconds: Mapped[int | None]  # the longest its kind takes
    wait_minutes: Mapped[float | None]  # from turning to the question what the radiator does
    question_at: Mapped[datetime | None]  # when that is asked, where nobody watches
    ended_at: Mapped[datetime | None]
    seen: Mapped[str | None] = mapped_column(String(12))  # moved, not_moved, unseen


class Forecast(Base):
    """What an open ticket stated before anybody measured anything; goes with its closure."""

    __tablename__ = "forecasts"
    ticket_id: Mapped[str] = mapped_column(ForeignKey("tickets.id"), primary_key=True)
    at: Mapped[datetime]
    # {fault, component, probability}, likeliest first; faults by the names of the trade's list
    suspects: Mapped[list[Any]]
    unknown: Mapped[float]


class ClosureDetail(Base):
    """Beside a closure: who closed it, what was stated, and whether it was right.

    ``first`` and ``unknown_first`` were stated before any reading, ``last`` and ``unknown_last`` at
    closing; lists like those of a forecast.
    """

    __tablename__ = "closure_details"
    closure_id: Mapped[int] = mapped_column(ForeignKey("closures.id"), primary_key=True)
    closed_by: Mapped[str | None]
    # right, same_part (another fault of the suspected component), elsewhere; None: no cause named
    verdict: Mapped[str | None] = mapped_column(String(12))
    readings: Mapped[int]  # how many had been made by then
    first: Mapped[list[Any]]
    unknown_first: Mapped[float]
    last: Mapped[list[Any]]
    unknown_last: Mapped[float]


class RepairPhoto(Base):
    """A technician's picture of a repair, made anew from its pixels."""

    __tablename__ = "repair_photos"
    id: Mapped[str] = mapped_column(primary_key=True)
    ticket_id: Mapped[str] = mapped_column(ForeignKey("tickets.id"), index=True)
    component: Mapped[str | None]
    at: Mapped[datetime]
    width: Mapped[int]
    height: Mapped[int]
    content: Mapped[bytes]  # JPEG
