"""Take a technician's reading of one component and let the diagnosis have it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from rules.checks.places import fits_at, places_of
from rules.checks.units import convertible, in_unit_of, ranges_of, units_of
from rules.diagnosis.measuring import FAULTY_WORDS, HEALTHY_WORDS
from rules.faults.catalogue import checks
from rules.faults.rows import Check
from rules.model import CheckId, ComponentId, Found
from rules.plant import Plant
from service.errors import ConflictError, InvalidError, NotFoundError, PointedError
from service.store.tables import FactRow, Ticket
from service.usecases.diagnosing.keep_forecast import keep_forecast
from service.usecases.diagnosing.rediagnose import rediagnose_if_possible
from service.usecases.diagnosing.where_named import MOST_PLACES, article, either
from service.usecases.loading.plants import plant_of
from service.usecases.rows.facts import fact_body
from service.usecases.rows.ticket_rows import record_event

__all__ = ["Finding", "found_from", "record_finding", "ticket_row"]

LONGEST_WORD = 100
LONGEST_UNIT = 12
LARGEST_FIGURE = 1e12
LOAD_CHECK = "sec_amps"
SECONDARY_VOLTS = 24.0


@dataclass(frozen=True, slots=True)
class Finding:
    """A reading with its unit, or an outcome in words."""

    check: str
    component: str
    value: float | None = None
    unit: str | None = None
    calling: bool | None = None
    outcome: str | None = None


def record_finding(session: Session, now: datetime, ticket_id: str, finding: Finding) -> Ticket:
    """Store the finding on the ticket and diagnose its building again.

    Raises:
        NotFoundError: there is no such ticket.
        ConflictError: the ticket is closed.
        InvalidError: unknown check or component, or a reading no instrument shows.
    """
    ticket = ticket_row(session, ticket_id)
    if ticket.state != "open":
        raise ConflictError("the ticket is closed; a reading belongs to an open one")
    found = found_from(plant_of(session, ticket.building_id), finding)
    keep_forecast(session, now, ticket)
    fact = FactRow(
        building_id=ticket.building_id,
        ticket_id=ticket.id,
        source=f"finding:{ticket.id}",
        at=now,
        body=fact_body(found),
    )
    session.add(fact)
    record_event(session, now, ticket.id, "finding", fact_body(found))
    session.flush()
    rediagnose_if_possible(session, now, ticket.building_id)
    session.flush()
    return _current(session, ticket)


def ticket_row(session: Session, ticket_id: str) -> Ticket:
    """The ticket.

    Raises:
        NotFoundError: there is no such ticket.
    """
    ticket = session.get(Ticket, ticket_id)
    if ticket is None:
        raise NotFoundError("there is no such ticket")
    return ticket


def _current(session: Session, ticket: Ticket) -> Ticket:
    """The ticket itself, or the one its complaints went to when the reading joined two."""
    while ticket.merged_into is not None:
        ticket = session.get_one(Ticket, ticket.merged_into)
    return ticket


def found_from(plant: Plant | None, finding: Finding) -> Found:
    """The reading in the unit of its check.

    Raises:
        InvalidError: unknown check or component, or a reading no instrument shows.
    """
    check = checks().get(CheckId(finding.check))
    if check is None:
        raise _wrong("/test", f"there is no test {finding.check!r}")
    component = ComponentId(finding.component)
    if plant is None:
        raise _wrong("/component", "ticket has no building yet in which a part could be measured")
    if component not in plant.components:
        raise _wrong("/component", f"the building has no component {finding.component!r}")
    if not fits_at(plant, check, component):
        raise _wrong("/component", _elsewhere(plant, check, component))
    if finding.outcome is not None:
        return _in_words(check, component, finding)
    if finding.value is None:
        raise _wrong("/value", "give either a value with its unit, or an outcome")
    if check.outcomes:
        return _figure_for_words(check, component, finding)
    value, unit = _in_unit(check, *_as_load(plant, finding))
    return Found(check.id, component, value, unit, finding.calling)


def _figure_for_words(check: Check, component: ComponentId, finding: Finding) -> Found:
    """A figure for a check that is weighed in words: kept on the ticket, and moves no suspect."""
    value, unit = float(finding.value or 0.0), (finding.unit or "").strip()
    if not math.isfinite(value) or abs(value) > LARGEST_FIGURE or len(unit) > LONGEST_UNIT:
        raise _wrong("/value", "is no figure that an instrument shows")
    return Found(check.id, component, value, unit or None, finding.calling)


def _as_load(plant: Plant, finding: Finding) -> tuple[float, str | None]:
    """Amps of a transformer as a share of its rating, which is what the check is about."""
    value, unit = float(finding.value or 0.0), finding.unit
    rated = next((t.va for t in plant.transformers if t.id == finding.component), None)
    if finding.check == LOAD_CHECK and rated and (unit or "").strip().lower() in {"a", "amps"}:
        return value * SECONDARY_VOLTS / rated * 100, "percent"
    return value, unit


def _in_words(check: Check, component: ComponentId, finding: Finding) -> Found:
    if finding.value is not None:
        raise _wrong("/outcome", "give either a value or an outcome, not both")
    own = (*check.outcomes, *((check.nothing,) if check.nothing else ()))
    known = {*own, *HEALTHY_WORDS, *FAULTY_WORDS}
    as_written = "_".join(str(finding.outcome)[:LONGEST_WORD].replace("-", " ").split())
    outcome = next((word for word in known if word.lower() == as_written.lower()), None)
    if outcome is None:
        words = ", ".join(own) or "healthy, faulty"
        raise _wrong("/outcome", f"is none of: {words}")
    return Found(check.id, component, calling=finding.calling, outcome=outcome)


def _in_unit(check: Check, value: float, written: str | None) -> tuple[float, str]:
    """The value in a unit of the check, if an instrument can show it."""
    if not (written or "").strip() and len(units_of(check)) > 1:
        raise _wrong("/unit", f"test is read in {either(units_of(check))}: say in which")
    read = in_unit_of(check, value, written)
    if read is None:
        raise _wrong("/unit", _other_units(check, str(written)))
    found, unit = read
    low, high, shown = ranges_of(check).get(unit, (-math.inf, math.inf, "a number"))
    if not math.isfinite(found) or not low <= found <= high:
        raise _wrong("/value", f"is outside what the instrument can show here: {shown}")
    return found, unit


def _other_units(check: Check, written: str) -> str:
    taken = f"unit {written[:LONGEST_UNIT]!r} does not fit: this test is read in"
    also = convertible(check)
    return f"{taken} {either(units_of(check))}" + (
        f"; {either(also)} is turned into it" if also else ""
    )


def _elsewhere(plant: Plant, check: Check, component: ComponentId) -> str:
    """That a check cannot be made at a component, and where it can."""
    kind = plant.component(component).kind.value
    places = places_of(plant, check, component)
    if not places:
        return f"test {check.id} is made at {article(check.at)}, and this building has none"
    return (
        f"test {check.id} is made at {article(check.at)}, and {component} is {article(kind)}: "
        f"name {either(places[:MOST_PLACES])}"
    )


def _wrong(pointer: str, detail: str) -> InvalidError:
    return InvalidError("the finding is refused", (PointedError(pointer, detail),))
