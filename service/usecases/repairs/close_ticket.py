"""Close a ticket: what it was, what was fitted, what it reads now; and whether we had been right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from rules.faults.catalogue import faults, named_only, parts
from rules.faults.telling import told_name
from rules.model import Found, PartId
from rules.plant import Plant
from service.auth.who import Who
from service.errors import ConflictError, InvalidError, PointedError
from service.store.tables import Closure, ClosureDetail, FactRow, Install, Ticket
from service.usecases.diagnosing.keep_forecast import forecast_of, stated
from service.usecases.diagnosing.record_finding import Finding, found_from, ticket_row
from service.usecases.diagnosing.rediagnose import rediagnose_if_possible
from service.usecases.diagnosing.where_named import wrong_place
from service.usecases.loading.plants import plant_of
from service.usecases.repairs.repair_photos import Picture, add_photos
from service.usecases.repairs.take_along import take_along
from service.usecases.rows.audit import note_act
from service.usecases.rows.complaint_rows import end_complaint
from service.usecases.rows.facts import AFTER, fact_body
from service.usecases.rows.pressing import zone_of
from service.usecases.rows.services import SmsRules
from service.usecases.rows.ticket_rows import open_complaints_of, record_event
from service.usecases.sending.after_repair import ask_tomorrow, tell_done

__all__ = ["Closing", "close_ticket"]

UNKNOWN_COMPONENT = "unknown"
LONGEST_NOTE = 2_000


@dataclass(frozen=True, slots=True)
class Closing:
    """What the technician says. No fault: nothing was found, or something that has no name here; the
    note then says what. The fault may be named as the trade's list has it or by its row.

    ``before`` and ``after`` are readings without and with the repair; they are kept with the ticket and
    the component and move no suspect any more.
    """

    fault: str | None
    component: str | None
    parts: tuple[tuple[str, int], ...] = ()
    installed_on: date | None = None
    note: str = ""
    before: tuple[Finding, ...] = ()
    after: tuple[Finding, ...] = ()
    photos: tuple[Picture, ...] = ()


def close_ticket(
    session: Session,
    now: datetime,
    sms: SmsRules,
    who: Who,
    ticket_id: str,
    closing: Closing,
) -> Ticket:
    """Close the ticket and its complaints; the households are told, and asked next morning.

    Raises:
        NotFoundError: there is no such ticket.
        ConflictError: it is closed already.
        InvalidError: neither a fault nor a note, unknown fault, component or part, a fault that such
            a component cannot have, or a reading that no instrument shows.
    """
    ticket = ticket_row(session, ticket_id)
    if ticket.state != "open":
        raise ConflictError("the ticket is closed already")
    zone = zone_of(session, ticket.building_id)
    found = _check(session, now, zone, ticket, closing)
    closure = _store(session, now, ticket, closing, zone)
    _hold_against(session, now, who, ticket, closure)
    _keep_readings(session, now, ticket, found)
    add_photos(session, now, ticket.id, closing.component, closing.photos)
    if closing.fault is not None:
        plant = plant_of(session, ticket.building_id)
        take_along(session, now, plant, ticket, closing.component)
    complaints = open_complaints_of(session, ticket.id)
    told = tell_done(session, now, sms, zone, closure, complaints)
    ask_tomorrow(session, now, zone, closure, complaints, told)
    for complaint in complaints:
        end_complaint(session, now, complaint, "fixed")
    _withdraw_findings(session, now, ticket)
    ticket.state = "closed"
    ticket.closed_at = now
    ticket.version += 1
    body = {"fault": closing.fault, "component": closing.component, "note": closure.note}
    record_event(session, now, ticket.id, "closed", body)
    # Without a building file a component is any words, and the log holds none that a person chose.
    known = plant_of(session, ticket.building_id) is not None
    component = closing.component if known else None
    fault = None if closing.fault is None else str(told_name(closing.fault))
    act = {"fault": fault, "component": component, "closure": closure.id}
    note_act(session, now, who, "ticket closed", ticket.id, act)
    session.flush()
    rediagnose_if_possible(session, now, ticket.building_id)
    return ticket


_Readings = tuple[tuple[str, Found], ...]  # (source, what was found)


def _check(
    session: Session, now: datetime, zone: str, ticket: Ticket, closing: Closing
) -> _Readings:
    wrong = []
    if closing.fault is None and not closing.note.strip():
        says = "has to say what was found or done, as no fault is named"
        wrong.append(PointedError("/note", says))
    if closing.fault is not None and closing.fault not in {*faults(), *named_only()}:
        wrong.append(PointedError("/fault", f"there is no fault {closing.fault!r}"))
    plant = plant_of(session, ticket.building_id)
    if closing.component is not None and plant is not None:
        wrong += wrong_place(plant, closing.component, closing.fault)
    wrong += [
        PointedError(f"/parts/{n}/part", f"there is no part {part!r}")
        for n, (part, _) in enumerate(closing.parts)
        if PartId(part) not in parts()
    ]
    # Today by the building's calendar or by UTC, whichever is later: both are "today" to somebody.
    today = max(now.astimezone(ZoneInfo(zone)).date(), now.astimezone(UTC).date())
    if closing.installed_on is not None and closing.installed_on > today:
        wrong.append(PointedError("/installed", "lies in the future"))
    before, more = _read(plant, "before", f"finding:{ticket.id}", closing.before)
    after, most = _read(plant, "after", f"{AFTER}:{ticket.id}", closing.after)
    wrong += more + most
    if wrong:
        raise InvalidError("the closing is refused", wrong)
    return before + after


def _read(
    plant: Plant | None, name: str, source: str, findings: Sequence[Finding]
) -> tuple[_Readings, list[PointedError]]:
    found, wrong = [], []
    for n, finding in enumerate(findings):
        try:
            found.append((source, found_from(plant, finding)))
        except InvalidError as refused:
            wrong += [replace(e, pointer=f"/{name}/{n}{e.pointer}") for e in refused.errors]
    return tuple(found), wrong


def _store(session: Session, now: datetime, ticket: Ticket, closing: Closing, zone: str) -> Closure:
    closure = Closure(
        ticket_id=ticket.id,
        fault=closing.fault,
        component=closing.component,
        parts=[{"part": part, "quantity": quantity} for part, quantity in closing.parts],
        installed_on=closing.installed_on,
        note=closing.note[:LONGEST_NOTE],
        closed_at=now,
    )
    session.add(closure)
    installed_on = closing.installed_on or now.astimezone(ZoneInfo(zone)).date()
    session.add_all(_installs(ticket, closing, installed_on))
    session.flush()
    return closure


def _installs(ticket: Ticket, closing: Closing, installed_on: date) -> Sequence[Install]:
    return [
        Install(
            building_id=ticket.building_id,
            component=closing.component or UNKNOWN_COMPONENT,
            part=part,
            installed_on=installed_on,
            ticket_id=ticket.id,
        )
        for part, _quantity in closing.parts
    ]


def _hold_against(
    session: Session, now: datetime, who: Who, ticket: Ticket, closure: Closure
) -> None:
    """Keep what was stated beside what was found."""
    first = forecast_of(session, now, ticket)
    last, unknown = stated(ticket.picture)
    readings = session.scalar(
        select(func.count())
        .select_from(FactRow)
        .where(FactRow.ticket_id == ticket.id, FactRow.withdrawn_at.is_(None))
    )
    session.add(
        ClosureDetail(
            closure_id=closure.id,
            closed_by=who.account,
            verdict=_verdict(first.suspects, closure),
            readings=readings or 0,
            first=first.suspects,
            unknown_first=first.unknown,
            last=last,
            unknown_last=unknown,
        )
    )
    # Should the ticket be opened again, it is about what is found then.
    session.delete(first)
    session.flush()


def _verdict(suspects: Sequence[dict[str, Any]], closure: Closure) -> str | None:
    """Whether the first suspect, as stated before any reading, was what it turned out to be."""
    if closure.fault is None or not suspects:
        return None
    if suspects[0]["component"] != closure.component:
        return "elsewhere"
    return "right" if suspects[0]["fault"] == told_name(closure.fault) else "same_part"


def _keep_readings(session: Session, now: datetime, ticket: Ticket, found: _Readings) -> None:
    for source, reading in found:
        session.add(
            FactRow(
                building_id=ticket.building_id,
                ticket_id=ticket.id,
                source=source,
                at=now,
                body=fact_body(reading),
                withdrawn_at=now,  # of a repair that is done: no evidence about what comes next
            )
        )
    session.flush()


def _withdraw_findings(session: Session, now: datetime, ticket: Ticket) -> None:
    for row in session.scalars(select(FactRow).where(FactRow.ticket_id == ticket.id)):
        if row.withdrawn_at is None:
            row.withdrawn_at = now
