"""Take a technician's reading of one component and let the diagnosis have it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from rules.diagnosis.measuring import FAULTY_WORDS, HEALTHY_WORDS
from rules.faults.catalogue import checks, faults
from rules.faults.rows import Check
from rules.model import CheckId, ComponentId, Found
from rules.plant import Plant
from service.errors import ConflictError, InvalidError, NotFoundError, PointedError
from service.store.tables import FactRow, Ticket
from service.usecases.facts import fact_body
from service.usecases.keep_forecast import keep_forecast
from service.usecases.plants import plant_of
from service.usecases.rediagnose import rediagnose_if_possible
from service.usecases.ticket_rows import record_event

__all__ = ["Finding", "found_from", "record_finding", "ticket_row", "units_of"]

# How units are written on meters and in notes: (unit, times, plus).
UNITS: dict[str, tuple[str, float, float]] = {
    "v": ("V", 1, 0),
    "vac": ("V", 1, 0),
    "v ac": ("V", 1, 0),
    "vdc": ("V", 1, 0),
    "volt": ("V", 1, 0),
    "volts": ("V", 1, 0),
    "mv": ("mV", 1, 0),
    "a": ("A", 1, 0),
    "amp": ("A", 1, 0),
    "amps": ("A", 1, 0),
    "ma": ("A", 0.001, 0),
    "ua": ("uA", 1, 0),
    "µa": ("uA", 1, 0),
    "ohm": ("ohm", 1, 0),
    "ohms": ("ohm", 1, 0),
    "ω": ("ohm", 1, 0),
    "kohm": ("ohm", 1000, 0),
    "f": ("F", 1, 0),
    "°f": ("F", 1, 0),
    "c": ("F", 1.8, 32),
    "°c": ("F", 1.8, 32),
    "psi": ("psi", 1, 0),
    "ppm": ("ppm", 1, 0),
    "s": ("s", 1, 0),
    "sec": ("s", 1, 0),
    "seconds": ("s", 1, 0),
    "min": ("s", 60, 0),
    "in_wc": ("in_wc", 1, 0),
    "uf": ("uF", 1, 0),
    "µf": ("uF", 1, 0),
    "percent": ("percent", 1, 0),
    "%": ("percent", 1, 0),
}
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
    if plant is None or component not in plant.components:
        raise _wrong("/component", f"the building has no component {finding.component!r}")
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
    outcome = str(finding.outcome).strip()
    if finding.value is not None:
        raise _wrong("/outcome", "give either a value or an outcome, not both")
    known = {*check.outcomes, *HEALTHY_WORDS, *FAULTY_WORDS}
    if outcome not in known or len(outcome) > LONGEST_WORD:
        words = ", ".join(check.outcomes) or "healthy, faulty"
        raise _wrong("/outcome", f"is none of: {words}")
    return Found(check.id, component, calling=finding.calling, outcome=outcome)


def _in_unit(check: Check, value: float, written: str | None) -> tuple[float, str]:
    """The value in the unit of the check, if an instrument can show it."""
    expected = units_of(check)
    name = (written or "").strip().lower()
    unit, times, plus = UNITS.get(name, ("", 1, 0)) if name else (expected[0], 1, 0)
    if unit not in expected:
        raise _wrong("/unit", f"this test is read in {' or '.join(expected)}")
    found = value * times + plus
    low, high = check.range or (-math.inf, math.inf)
    if not math.isfinite(found) or not low <= found <= high:
        shown = f"{low:g} to {high:g} {unit}"
        raise _wrong("/value", f"is outside what the instrument can show here: {shown}")
    return found, unit


def units_of(check: Check) -> list[str]:
    """The units in which the instruments of a check read."""
    own = [r.unit for r in check.healthy if r.unit]
    rows = [r.unit for f in faults().values() for r in f.checks if r.check == check.id and r.unit]
    return list(dict.fromkeys(str(u) for u in own + rows)) or ["V"]


def _wrong(pointer: str, detail: str) -> InvalidError:
    return InvalidError("the finding is refused", (PointedError(pointer, detail),))
