"""All tables, and those of buildings, complaints and tickets themselves.

Times are aware UTC instants (``*_at``) or dates (``*_on``).
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, String, false, true
from sqlalchemy.orm import Mapped, mapped_column

from service.store.act_tables import ActedTicket, DeskAct
from service.store.base import Base
from service.store.contact_tables import Broadcast, NumberHome, SenderCode
from service.store.home_tables import HomeDoor, HomePhone, HomePhoto
from service.store.repair_tables import ClosureDetail, Forecast, RepairPhoto, TurnAsk
from service.store.staff_tables import (
    Account,
    ApiToken,
    AuditRow,
    EntryLink,
    SignInTry,
    StaffSession,
)
from service.store.text_tables import Alert, InboxMessage, NumberRow, OutboxMessage, TimerRow
from service.store.truck_tables import TruckArrival

__all__ = [
    "Account",
    "ActedTicket",
    "Alert",
    "ApiToken",
    "AuditRow",
    "Base",
    "Broadcast",
    "Building",
    "ClockState",
    "Closure",
    "ClosureDetail",
    "Complaint",
    "DeskAct",
    "EntryLink",
    "FactRow",
    "Forecast",
    "HomeDoor",
    "HomePhone",
    "HomePhoto",
    "HouseholdRow",
    "InboxMessage",
    "Install",
    "NumberHome",
    "NumberRow",
    "OutboxMessage",
    "RepairPhoto",
    "SenderCode",
    "SignInTry",
    "StaffSession",
    "Ticket",
    "TicketEvent",
    "TimerRow",
    "TruckArrival",
    "TurnAsk",
    "WeatherHour",
]


class ClockState(Base):
    """Where a manual clock stands; one row."""

    __tablename__ = "clock_state"
    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    now: Mapped[datetime]


class Building(Base):
    """A building file as it was accepted."""

    __tablename__ = "buildings"
    id: Mapped[str] = mapped_column(primary_key=True)
    document: Mapped[dict[str, Any]]
    updated_at: Mapped[datetime]


class HouseholdRow(Base):
    """A person in an apartment who may text us or be texted."""

    __tablename__ = "households"
    id: Mapped[int] = mapped_column(primary_key=True)
    building_id: Mapped[str] = mapped_column(ForeignKey("buildings.id"), index=True)
    apartment: Mapped[str]
    name: Mapped[str]
    mobile: Mapped[str | None] = mapped_column(index=True)
    email: Mapped[str | None]
    language: Mapped[str]
    care: Mapped[list[Any]]


class WeatherHour(Base):
    """Outdoor temperature at a station, observed or forecast."""

    __tablename__ = "weather_hours"
    station: Mapped[str] = mapped_column(primary_key=True)
    at: Mapped[datetime] = mapped_column(primary_key=True)
    outdoor_f: Mapped[float]


class Complaint(Base):
    """What one household has reported and not yet had resolved."""

    __tablename__ = "complaints"
    id: Mapped[str] = mapped_column(primary_key=True)
    building_id: Mapped[str | None] = mapped_column(ForeignKey("buildings.id"), index=True)
    apartment: Mapped[str | None]
    number: Mapped[str] = mapped_column(index=True)
    opened_at: Mapped[datetime]
    reopened_at: Mapped[datetime | None]  # when a repair of it last turned out not to have helped
    closed_at: Mapped[datetime | None]
    kinds: Mapped[list[Any]]
    ticket_id: Mapped[str | None] = mapped_column(ForeignKey("tickets.id"), index=True)
    pinned: Mapped[bool] = mapped_column(default=False)  # stays on its ticket: a person said so
    # Whether we know that the sender belongs to the home: on file, shown by a code, or by a person.
    confirmed: Mapped[bool] = mapped_column(default=True, server_default=true())
    care: Mapped[list[Any]]  # who is at risk there, as far as the texts say
    danger: Mapped[list[Any]]  # kinds of danger; such a complaint never shares a ticket
    outcome: Mapped[str | None]  # how it ended: fixed, resolved, cancelled, no_danger, joined
    taken_over_by: Mapped[str | None]  # who writes with the household in place of the machine

    @property
    def since(self) -> datetime:
        """When it was opened, or opened again for the last time: from then on we owe something."""
        return self.reopened_at or self.opened_at


class FactRow(Base):
    """A piece of evidence with its source; withdrawn facts stay on record but no longer count."""

    __tablename__ = "facts"
    id: Mapped[int] = mapped_column(primary_key=True)
    building_id: Mapped[str | None] = mapped_column(ForeignKey("buildings.id"), index=True)
    complaint_id: Mapped[str | None] = mapped_column(ForeignKey("complaints.id"), index=True)
    ticket_id: Mapped[str | None] = mapped_column(ForeignKey("tickets.id"), index=True)
    apartment: Mapped[str | None]
    source: Mapped[str]
    at: Mapped[datetime]
    body: Mapped[dict[str, Any]]
    withdrawn_at: Mapped[datetime | None]


class Ticket(Base):
    """One thing to go and fix, covering one or more complaints."""

    __tablename__ = "tickets"
    id: Mapped[str] = mapped_column(primary_key=True)
    building_id: Mapped[str | None] = mapped_column(ForeignKey("buildings.id"), index=True)
    scope: Mapped[str]
    component: Mapped[str]
    state: Mapped[str] = mapped_column(String(8), index=True)  # open, closed
    danger: Mapped[bool]
    opened_at: Mapped[datetime]
    closed_at: Mapped[datetime | None]
    respond_by: Mapped[datetime]
    because: Mapped[list[Any]]
    picture: Mapped[dict[str, Any]]
    version: Mapped[int] = mapped_column(default=1)
    merged_into: Mapped[str | None] = mapped_column(ForeignKey("tickets.id"))
    assigned_to: Mapped[str | None]
    held_until: Mapped[datetime | None]
    hold_reason: Mapped[str | None]
    respond_by_set: Mapped[dict[str, Any] | None]  # a person's: at, reason, by
    # Split off by a person: grouping puts nothing else on it.
    alone: Mapped[bool] = mapped_column(default=False, server_default=false())


class TicketEvent(Base):
    """Something that happened to a ticket; the whole history, never changed."""

    __tablename__ = "ticket_events"
    id: Mapped[int] = mapped_column(primary_key=True)
    ticket_id: Mapped[str] = mapped_column(ForeignKey("tickets.id"), index=True)
    at: Mapped[datetime]
    what: Mapped[str]
    body: Mapped[dict[str, Any]]


class Closure(Base):
    """What a technician found and did; a reopened ticket may have several."""

    __tablename__ = "closures"
    id: Mapped[int] = mapped_column(primary_key=True)
    ticket_id: Mapped[str] = mapped_column(ForeignKey("tickets.id"), index=True)
    fault: Mapped[str | None]
    component: Mapped[str | None]
    parts: Mapped[list[Any]]
    installed_on: Mapped[date | None]
    note: Mapped[str]
    closed_at: Mapped[datetime]


class Install(Base):
    """A part that went in, so that the next one knows how long it lasted."""

    __tablename__ = "installs"
    id: Mapped[int] = mapped_column(primary_key=True)
    building_id: Mapped[str | None] = mapped_column(ForeignKey("buildings.id"), index=True)
    component: Mapped[str]
    part: Mapped[str]
    installed_on: Mapped[date]
    ticket_id: Mapped[str] = mapped_column(ForeignKey("tickets.id"))
