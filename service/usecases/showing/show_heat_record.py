"""The record of one building's heat: each temperature told, the law at that hour, and what was done."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.plant import Plant
from rules.urgency.forecast import Outdoors
from rules.urgency.heat_law import legal_floor_f, texts_in_force
from service.errors import NotFoundError
from service.store.tables import (
    AuditRow,
    Closure,
    Complaint,
    FactRow,
    InboxMessage,
    Ticket,
    TicketEvent,
)
from service.usecases.loading.plants import plant_of
from service.usecases.rows.ids import reference
from service.usecases.rows.when_said import Said
from service.usecases.showing.heat_done import Done, TicketDone, done_on, told_and_done
from service.usecases.showing.heat_law_view import LawView, laws_of
from service.usecases.showing.heat_spells import HeatLine, HeatSpell, heat_spells
from service.usecases.showing.heat_told import outdoors_of, taken_back_at

__all__ = ["HeatLine", "HeatRecord", "Period", "show_heat_record"]

VIA = {
    "web": "told on the page",
    "smtp": "told by text",
    "http": "told by text",
    "call": "told by telephone",
}


@dataclass(frozen=True, slots=True)
class Period:
    """Days of the building's calendar, both included; None: without end."""

    first: date | None = None
    last: date | None = None

    def holds(self, at: datetime, timezone: str) -> bool:
        """Whether an instant lies in it."""
        day = at.astimezone(ZoneInfo(timezone)).date()
        return (self.first is None or self.first <= day) and (self.last is None or day <= self.last)


@dataclass(frozen=True, slots=True)
class HeatRecord:
    """A building's temperatures of a period, newest first, with what was done for their homes."""

    building: str
    name: str
    timezone: str
    now: datetime
    period: Period
    station: str | None  # where the outdoor temperatures are from
    apartments: int  # of the building
    laws: tuple[LawView, ...]  # in force on the days of the lines, and today
    told: tuple[HeatLine, ...]  # at any time, newest first
    again: tuple[HeatLine, ...]  # what was told last, where a repair did not hold, as of that word
    done: tuple[TicketDone, ...]
    log_rows: int  # of the log of what staff did: how many, and the hash of the last
    log_head: str

    @property
    def lines(self) -> tuple[HeatLine, ...]:
        """What was told in the period."""
        return tuple(x for x in self.told if self.period.holds(x.at, self.timezone))

    @property
    def counted(self) -> tuple[HeatLine, ...]:
        """Lines of hours for which the law asks for something, and that stand."""
        return tuple(x for x in self.lines if _counts(x))

    @property
    def under(self) -> tuple[HeatLine, ...]:
        """Those of them that were under it."""
        return tuple(line for line in self.counted if line.short_f > 0)

    @property
    def spells(self) -> tuple[HeatSpell, ...]:
        """When which home was under it, whole, if some of it lies in the period."""
        return tuple(spell for spell in self._every if self._touches(spell))

    @property
    def cold_now(self) -> tuple[str, ...]:
        """Homes whose report is open and that were under the law when they last told."""
        return tuple(sorted(spell.apartment for spell in self._every if spell.until is None))

    @property
    def _every(self) -> tuple[HeatSpell, ...]:
        return heat_spells(line for line in (*self.told, *self.again) if _counts(line))

    def _touches(self, spell: HeatSpell) -> bool:
        zone = ZoneInfo(self.timezone)
        ends = (spell.until or self.now).astimezone(zone).date()
        begins = spell.since.astimezone(zone).date()
        first, last = self.period.first, self.period.last
        return (first is None or first <= ends) and (last is None or begins <= last)


_Told = tuple[FactRow, Complaint]


@dataclass(frozen=True, slots=True)
class _Known:
    plant: Plant
    outdoors: Outdoors
    done: dict[str, list[Done]]  # by ticket, oldest first
    came: dict[str, tuple[str, datetime]]  # by message: through which door, and when
    closings: frozenset[datetime]  # when technicians closed tickets here, and with them reports
    right: dict[str, list[datetime]]  # by report: when its household said that a repair has helped


def show_heat_record(
    session: Session, now: datetime, building_id: str, period: Period | None = None
) -> HeatRecord:
    """What the households of a building have told of their rooms, against the law.

    Raises:
        NotFoundError: there is no such building.
    """
    plant = plant_of(session, building_id)
    if plant is None:
        raise NotFoundError("there is no such building")
    period = period or Period()
    query = (
        select(FactRow, Complaint)
        .join(Complaint, Complaint.id == FactRow.complaint_id)
        .where(FactRow.building_id == building_id, FactRow.apartment.is_not(None))
        .order_by(FactRow.at.desc(), FactRow.id.desc())
    )
    facts = [(fact, complaint) for fact, complaint in session.execute(query)]
    rows = [
        (fact, complaint)
        for fact, complaint in facts
        if fact.body["type"] == "room_read" and fact.body["room_f"] is not None
    ]
    tickets = {str(c.ticket_id) for _, c in rows if c.ticket_id}
    stations = [plant.weather_station] if plant.weather_station is not None else []
    weather = outdoors_of(session, stations, [fact.at for fact, _ in rows])
    known = _Known(
        plant=plant,
        outdoors=next(iter(weather.values()), Outdoors([])),
        done=done_on(session, tickets),
        came=_came(session, [fact.source for fact, _ in rows]),
        closings=_closings(session, building_id),
        right=_right(session, tickets),
    )
    zone = ZoneInfo(plant.timezone)
    shown = [(f, c) for f, c in rows if period.holds(f.at, plant.timezone)]
    days = [now.astimezone(zone).date(), *(f.at.astimezone(zone).date() for f, _ in shown)]
    of_period = list({str(c.ticket_id) for _, c in shown if c.ticket_id})
    log = session.execute(
        select(AuditRow.seq, AuditRow.hash).order_by(AuditRow.seq.desc()).limit(1)
    ).first()
    return HeatRecord(
        building=building_id,
        name=plant.name,
        timezone=plant.timezone,
        now=now,
        period=period,
        station=plant.weather_station,
        apartments=len(plant.apartments),
        laws=laws_of(plant.heat_rule, days),
        told=tuple(_line(fact, complaint, known) for fact, complaint in rows),
        again=tuple(_again(facts, rows, known)),
        done=told_and_done(session, of_period),
        log_rows=log.seq if log is not None else 0,
        log_head=log.hash if log is not None else "",
    )


def _counts(line: HeatLine) -> bool:
    return line.floor_f is not None and line.taken_back_at is None


def _again(facts: Sequence[_Told], rows: Sequence[_Told], known: _Known) -> Iterator[HeatLine]:
    """Where a household reports anew after a closing: it is as cold as it told last, from then on."""
    reports: dict[str, list[FactRow]] = {}
    for fact, complaint in reversed(facts):
        if fact.body["type"] == "reported":
            reports.setdefault(complaint.id, []).append(fact)
    seen: set[int] = set()
    for fact, complaint in rows:
        if fact.withdrawn_at not in known.closings:
            continue
        report = next((r for r in reports.get(complaint.id, []) if r.at > fact.withdrawn_at), None)
        if report is not None and report.id not in seen:
            seen.add(report.id)
            line = _line(report, complaint, known, float(fact.body["room_f"]))
            yield replace(line, taken_back_at=taken_back_at(fact, complaint, known.closings))


def _line(
    fact: FactRow, complaint: Complaint, known: _Known, room_f: float | None = None
) -> HeatLine:
    """``room_f`` is what counts where the fact itself tells no temperature."""
    plant = known.plant
    outdoor = known.outdoors.at(fact.at)
    local = fact.at.astimezone(ZoneInfo(plant.timezone)).date()
    texts = texts_in_force(plant.heat_rule, local)
    done = known.done.get(complaint.ticket_id or "", [])
    via, heard_at = known.came.get(fact.source, ("", fact.at))
    acted = next((d for d in done if d.at >= max(fact.at, heard_at)), None)
    # A report that was opened again had ended with the closing for what was told before it.
    of_closing = fact.withdrawn_at in known.closings
    ended_at = fact.withdrawn_at if of_closing else complaint.closed_at
    right = known.right.get(complaint.id, [])
    return HeatLine(
        at=fact.at,
        came_at=heard_at if Said(fact.at, heard_at).is_late else None,
        apartment=str(fact.apartment),
        room_f=float(fact.body["room_f"]) if room_f is None else room_f,
        source=VIA.get(via, "told by the household"),
        message=fact.source if fact.source in known.came else "",
        outdoor_f=outdoor,
        floor_f=legal_floor_f(plant.heat_rule, fact.at, plant.timezone, outdoor),
        law=texts[0].name if texts else "",
        reference=reference(complaint.ticket_id) if complaint.ticket_id else "",
        acted_at=acted.at if acted else None,
        acted=acted.says if acted else "",
        ended_at=ended_at,
        ended="fixed" if of_closing else complaint.outcome or "" if complaint.closed_at else "",
        right_at=next((at for at in right if ended_at and at >= ended_at), None),
        taken_back_at=taken_back_at(fact, complaint, known.closings),
    )


def _closings(session: Session, building_id: str) -> frozenset[datetime]:
    query = select(Closure.closed_at).join(Ticket, Ticket.id == Closure.ticket_id)
    return frozenset(session.scalars(query.where(Ticket.building_id == building_id)))


def _right(session: Session, tickets: Collection[str]) -> dict[str, list[datetime]]:
    query = select(TicketEvent).where(TicketEvent.what == "confirmed")
    found: dict[str, list[datetime]] = {}
    for event in session.scalars(query.where(TicketEvent.ticket_id.in_(tickets))):
        found.setdefault(event.body["complaint"], []).append(event.at)
    return found


def _came(session: Session, sources: Sequence[str]) -> dict[str, tuple[str, datetime]]:
    query = select(InboxMessage.id, InboxMessage.via, InboxMessage.received_at)
    rows = session.execute(query.where(InboxMessage.id.in_(set(sources))))
    return {row.id: (row.via, row.received_at) for row in rows}
