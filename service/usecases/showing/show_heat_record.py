"""The record of one building's heat: each temperature told, the law at that hour, and what was done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.model import HourlyWeather
from rules.plant import Plant
from rules.urgency.forecast import Outdoors
from rules.urgency.heat_law import legal_floor_f, texts_in_force
from service.errors import NotFoundError
from service.store.tables import (
    ActedTicket,
    Closure,
    Complaint,
    DeskAct,
    FactRow,
    InboxMessage,
    Ticket,
    WeatherHour,
)
from service.usecases.loading.plants import plant_of
from service.usecases.rows.act_rows import AUTOMATIC
from service.usecases.rows.ids import reference
from service.usecases.rows.when_said import Said
from service.usecases.showing.heat_spells import HeatLine, HeatSpell, heat_spells

__all__ = ["HeatLine", "HeatRecord", "cold_now", "show_heat_record"]

# What of the desk's acts an owner asks about: not who is on which ticket, but what was done for a home.
DONE = {
    "assign": "given to somebody",
    "hold": "put on hold",
    "respond_by": "time to act by changed",
    "broadcast": "households written to",
    "write": "household written to",
    "take_over": "a person wrote with the household",
}
VIA = {
    "web": "told on the page",
    "smtp": "told by text",
    "http": "told by text",
    "call": "told by telephone",
}


@dataclass(frozen=True, slots=True)
class HeatRecord:
    """A building's lines, newest first."""

    building: str
    name: str
    timezone: str
    now: datetime
    law: str | None  # the rule that holds today
    lines: tuple[HeatLine, ...]

    @property
    def counted(self) -> tuple[HeatLine, ...]:
        """Lines of hours for which the law asks for something, and that stand."""
        return tuple(x for x in self.lines if x.floor_f is not None and x.taken_back_at is None)

    @property
    def under(self) -> tuple[HeatLine, ...]:
        """Those of them that were under it."""
        return tuple(line for line in self.counted if line.short_f > 0)

    @property
    def spells(self) -> tuple[HeatSpell, ...]:
        """When which home was under it; what goes on first, then the newest."""
        return heat_spells(self.counted)

    @property
    def cold_now(self) -> tuple[str, ...]:
        """Homes whose report is open and that were under the law when they last told."""
        return tuple(sorted(spell.apartment for spell in self.spells if spell.until is None))


@dataclass(frozen=True, slots=True)
class _Known:
    plant: Plant
    outdoors: Outdoors
    acts: dict[str, list[tuple[datetime, str]]]  # by ticket, oldest first
    came: dict[str, tuple[str, datetime]]  # by message: through which door, and when
    closings: frozenset[datetime]  # when technicians closed tickets here, and with them reports


def cold_now(session: Session, now: datetime) -> dict[str, tuple[str, ...]]:
    """The homes of each building that are under the law now, as far as they have told."""
    reported = session.scalars(
        select(Complaint.building_id)
        .where(Complaint.closed_at.is_(None), Complaint.building_id.is_not(None))
        .distinct()
    )
    found = {b: show_heat_record(session, now, b, only_open=True).cold_now for b in reported if b}
    return {building: homes for building, homes in found.items() if homes}


def show_heat_record(
    session: Session, now: datetime, building_id: str, *, only_open: bool = False
) -> HeatRecord:
    """What the households of a building have told of their rooms, against the law.

    ``only_open``: of reports that are open.

    Raises:
        NotFoundError: there is no such building.
    """
    plant = plant_of(session, building_id)
    if plant is None:
        raise NotFoundError("there is no such building")
    query = (
        select(FactRow, Complaint)
        .join(Complaint, Complaint.id == FactRow.complaint_id)
        .where(FactRow.building_id == building_id, FactRow.apartment.is_not(None))
        .order_by(FactRow.at.desc(), FactRow.id.desc())
    )
    if only_open:
        query = query.where(Complaint.closed_at.is_(None))
    rows = [
        (fact, complaint)
        for fact, complaint in session.execute(query)
        if fact.body["type"] == "room_read" and fact.body["room_f"] is not None
    ]
    known = _Known(
        plant=plant,
        outdoors=_outdoors(session, plant, [fact.at for fact, _ in rows]),
        acts=_acts(session, {str(c.ticket_id) for _, c in rows if c.ticket_id}),
        came=_came(session, [fact.source for fact, _ in rows]),
        closings=_closings(session, building_id),
    )
    texts = texts_in_force(plant.heat_rule, now.astimezone(ZoneInfo(plant.timezone)).date())
    return HeatRecord(
        building=building_id,
        name=plant.name,
        timezone=plant.timezone,
        now=now,
        law=texts[0].name if texts else None,
        lines=tuple(_line(fact, complaint, known) for fact, complaint in rows),
    )


def _line(fact: FactRow, complaint: Complaint, known: _Known) -> HeatLine:
    plant = known.plant
    outdoor = known.outdoors.at(fact.at)
    local = fact.at.astimezone(ZoneInfo(plant.timezone)).date()
    texts = texts_in_force(plant.heat_rule, local)
    acts = known.acts.get(complaint.ticket_id or "", [])
    via, heard_at = known.came.get(fact.source, ("", fact.at))
    acted = next(((at, says) for at, says in acts if at >= max(fact.at, heard_at)), None)
    return HeatLine(
        at=fact.at,
        came_at=heard_at if Said(fact.at, heard_at).is_late else None,
        apartment=str(fact.apartment),
        room_f=float(fact.body["room_f"]),
        source=VIA.get(via, "told by the household"),
        outdoor_f=outdoor,
        floor_f=legal_floor_f(plant.heat_rule, fact.at, plant.timezone, outdoor),
        law=texts[0].name if texts else "",
        reference=reference(complaint.ticket_id) if complaint.ticket_id else "",
        acted_at=acted[0] if acted else None,
        acted=acted[1] if acted else "",
        ended_at=complaint.closed_at,
        ended=complaint.outcome or "" if complaint.closed_at else "",
        taken_back_at=_taken_back_at(fact, complaint, known),
    )


def _taken_back_at(fact: FactRow, complaint: Complaint, known: _Known) -> datetime | None:
    """When the household took it back; with its report it ends as evidence, but stays what was told.

    A report that was opened again after a closing bears no trace of its first end.
    """
    ended = fact.withdrawn_at == complaint.closed_at or fact.withdrawn_at in known.closings
    return None if ended else fact.withdrawn_at


def _outdoors(session: Session, plant: Plant, times: Sequence[datetime]) -> Outdoors:
    if plant.weather_station is None or not times:
        return Outdoors([])
    rows = session.scalars(
        select(WeatherHour).where(
            WeatherHour.station == plant.weather_station,
            WeatherHour.at >= min(times) - timedelta(hours=6),
            WeatherHour.at <= max(times),
        )
    )
    return Outdoors([HourlyWeather(row.at, row.outdoor_f) for row in rows])


def _acts(session: Session, tickets: set[str]) -> dict[str, list[tuple[datetime, str]]]:
    """What people did for the homes: no reasons and no names."""
    found: dict[str, list[tuple[datetime, str]]] = {}
    for ticket, at, act in session.execute(
        select(ActedTicket.ticket_id, DeskAct.at, DeskAct.act)
        .join(DeskAct, DeskAct.id == ActedTicket.act_id)
        .where(ActedTicket.ticket_id.in_(tickets), DeskAct.account != AUTOMATIC)
        .where(DeskAct.undone_at.is_(None), DeskAct.act.in_(DONE))
    ):
        found.setdefault(ticket, []).append((at, DONE[act]))
    for measured in session.execute(
        select(FactRow.ticket_id, FactRow.at).where(FactRow.ticket_id.in_(tickets))
    ):
        found.setdefault(str(measured.ticket_id), []).append(
            (measured.at, "measured by a technician")
        )
    for ticket, at in session.execute(
        select(Closure.ticket_id, Closure.closed_at).where(Closure.ticket_id.in_(tickets))
    ):
        found.setdefault(ticket, []).append((at, "closed by a technician"))
    return {ticket: sorted(acts) for ticket, acts in found.items()}


def _closings(session: Session, building_id: str) -> frozenset[datetime]:
    query = select(Closure.closed_at).join(Ticket, Ticket.id == Closure.ticket_id)
    return frozenset(session.scalars(query.where(Ticket.building_id == building_id)))


def _came(session: Session, sources: Sequence[str]) -> dict[str, tuple[str, datetime]]:
    query = select(InboxMessage.id, InboxMessage.via, InboxMessage.received_at)
    rows = session.execute(query.where(InboxMessage.id.in_(set(sources))))
    return {row.id: (row.via, row.received_at) for row in rows}
