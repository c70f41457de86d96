"""A technician's day: the stops in order and one load list for all of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.checks.entry import before_entry
from rules.checks.tools import tools_for
from rules.faults.catalogue import faults, parts
from rules.model import FaultId, Kind
from rules.parts import Cause
from rules.parts.day import DayLoad, DayPart, DayTicket, Truck, day_load
from rules.parts.first_visit import day_ticket
from service.auth.who import Who
from service.store.tables import Ticket
from service.usecases.rows.views import QueueRow
from service.usecases.showing.show_queue import show_queue

__all__ = ["DayView", "LoadItem", "Stop", "truck_day"]


@dataclass(frozen=True, slots=True)
class Stop:
    """One building with what is to be done there, most pressing first."""

    building: str
    name: str
    rows: tuple[QueueRow, ...]
    first_visit: tuple[float | None, ...]  # by row: chance that the load mends it, if known
    entry: tuple[tuple[str, ...], ...]  # by row: what comes before going in, where it is a danger


@dataclass(frozen=True, slots=True)
class LoadItem:
    """A part for the day, for which stops it is, and the faults that use it there, likeliest first."""

    says: str
    quantity: int
    chance_used: float
    stops: tuple[tuple[str, tuple[int, ...]], ...]  # what is wrong in words, numbers of stops
    homes: float = 1.0  # that wait for it at the stop where most do
    is_for_many: bool = False  # it is on the list because of them


@dataclass(frozen=True, slots=True)
class DayView:
    """The stops in the order in which to make them, and the load."""

    now: datetime
    stops: tuple[Stop, ...]
    load: tuple[LoadItem, ...]  # what such days use
    spare: tuple[LoadItem, ...]  # what they rarely use
    as_always: tuple[str, ...]  # of what every truck has, what they rarely use
    tools: tuple[str, ...]  # for the checks of all these tickets
    others: tuple[QueueRow, ...]  # open tickets that somebody else has
    held: tuple[QueueRow, ...]
    nowhere: tuple[QueueRow, ...] = ()  # whose home the desk is still asking for; no dangers


def truck_day(session: Session, now: datetime, who: Who) -> DayView:
    """What is open and not somebody else's, and what to load for it."""
    rows = show_queue(session, now).rows
    held = tuple(r for r in rows if r.held_until is not None and r.held_until > now)
    nowhere = tuple(r for r in rows if not r.building and not r.danger and r not in held)
    others = tuple(r for r in rows if r not in held and r not in nowhere and not _is_mine(r, who))
    mine = [r for r in rows if r not in held and r not in others and r not in nowhere]
    by_building: dict[str, list[QueueRow]] = {}
    for row in mine:
        # A danger whose home is not known yet is a stop of its own.
        by_building.setdefault(row.building or row.ticket, []).append(row)
    ordered = [row for stop in by_building.values() for row in stop]
    pictures = _pictures(session, ordered)
    load = _day_load(tuple(_day_ticket(*each) for each in pictures.items()))
    stop_of = {row.ticket: n for n, stop in enumerate(by_building.values(), 1) for row in stop}
    items = [(part, _item(part, stop_of)) for part in load.parts]
    always = [part for part in load.parts if parts()[part.part].always_on_truck and not part.needed]
    return DayView(
        now=now,
        stops=tuple(
            Stop(
                building=building,
                name=stop[0].building_name,
                rows=tuple(stop),
                first_visit=tuple(load.first_visit.get(r.ticket) for r in stop),
                entry=tuple(before_entry(map(Kind, r.kinds)) if r.danger else () for r in stop),
            )
            for building, stop in by_building.items()
        ),
        load=tuple(item for part, item in items if part.needed),
        spare=tuple(item for part, item in items if not part.needed and part not in always),
        as_always=tuple(part.says for part in always),
        tools=tools_for(c["test"] for picture in pictures.values() for c in picture["checks"]),
        others=others,
        held=held,
        nowhere=nowhere,
    )


def _item(part: DayPart, stop_of: Mapping[str, int]) -> LoadItem:
    stops: dict[str, set[int]] = {}
    for use in part.uses:
        says = faults()[use.fault].says.split(";")[0]
        stops.setdefault(says, set()).add(stop_of[use.ticket])
    named = tuple((says, tuple(sorted(numbers))) for says, numbers in stops.items())
    homes = max((use.homes for use in part.uses), default=1.0)
    return LoadItem(part.says, part.quantity, part.chance_used, named, homes, part.is_for_many)


def _is_mine(row: QueueRow, who: Who) -> bool:
    return row.assigned_to in {None, "", who.account, who.name}


def _pictures(session: Session, rows: Sequence[QueueRow]) -> dict[str, dict[str, Any]]:
    """What each ticket says, in the order of the rows."""
    wanted = select(Ticket.id, Ticket.picture).where(Ticket.id.in_([r.ticket for r in rows]))
    pictures = {row.id: row.picture for row in session.execute(wanted)}
    return {row.ticket: pictures[row.ticket] for row in rows}


def _day_ticket(ticket: str, picture: dict[str, Any]) -> DayTicket:
    known = faults()
    causes = (
        Cause(FaultId(fault), chance, picture["waiting"][fault])
        for fault, chance in picture["causes"].items()
        if fault in known
    )
    return day_ticket(ticket, causes)


@lru_cache(maxsize=32)
def _day_load(tickets: tuple[DayTicket, ...]) -> DayLoad:
    """The page is asked for more often than the tickets change."""
    return day_load([t for t in tickets if t.suspects], Truck())
