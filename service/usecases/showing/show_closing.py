"""What the close-out form asks for, and what a closed ticket shows of its repair."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.checks.units import units_of
from rules.faults.catalogue import checks, parts
from rules.model import CheckId, PartId
from service.store.tables import Closure, ClosureDetail, FactRow, Ticket
from service.usecases.repairs.repair_photos import photos_of_repair
from service.usecases.rows.repair_views import ClosedOut, ClosingReading
from service.usecases.rows.views import CheckLine
from service.usecases.showing.check_words import check_words
from service.usecases.showing.ticket_words import finding_words

__all__ = ["closed_out", "closing_readings", "right_words"]

MOST = 3
RIGHT = {
    "right": "The first suspect was right",
    "same_part": "The right part was suspected, with another fault",
    "elsewhere": "The first suspect was wrong",
}


def closed_out(session: Session, ticket: Ticket) -> ClosedOut | None:
    """What came of a ticket: photos while it is open, all of it once it is closed; None for nothing."""
    photos = photos_of_repair(session, (ticket.id,))
    closure = session.scalars(
        select(Closure).where(Closure.ticket_id == ticket.id).order_by(Closure.id.desc()).limit(1)
    ).first()
    if closure is None or ticket.state == "open":
        return ClosedOut("", photos, component=None, has_label=False) if photos else None
    fitted = ((parts().get(PartId(row["part"])), row["quantity"]) for row in closure.parts)
    return ClosedOut(
        right=right_words(session.get(ClosureDetail, closure.id)),
        photos=photos,
        component=closure.component if ticket.building_id is not None else None,
        has_label=bool(closure.parts) and closure.component is not None,
        fitted=tuple(f"{number} x {part.says}" for part, number in fitted if part is not None),
        note=closure.note,
    )


def right_words(detail: ClosureDetail | None) -> str:
    """Whether the first suspect was right, with what had been stated; empty if no cause was named."""
    if detail is None or detail.verdict is None:
        return ""
    stated = float(detail.first[0]["probability"])
    return f"{RIGHT[detail.verdict]}, stated at {stated * 100:.0f} % before any reading"


def closing_readings(
    found: Iterable[FactRow], asked: Sequence[CheckLine]
) -> tuple[ClosingReading, ...]:
    """The last readings on the ticket, newest first; without any, the check that comes first."""
    last: dict[tuple[str, str], FactRow] = {}
    for row in found:
        if row.withdrawn_at is None and row.body.get("type") == "found":
            key = (str(row.body["check"]), str(row.body["component"]))
            last.pop(key, None)
            last[key] = row
    made = [_again(row) for row in reversed(last.values())]
    return tuple(made[:MOST]) or tuple(_first(check) for check in asked[:1])


def _again(row: FactRow) -> ClosingReading:
    body = row.body
    check = checks().get(CheckId(body["check"]))
    nothing = check.nothing if check is not None else None
    in_words = body["outcome"] not in (None, nothing)
    outcomes = check.outcomes if check is not None else ()
    usual = next(iter(units_of(check)), None) if check is not None else None
    where, _, shown = finding_words(body).partition(": ")
    return ClosingReading(
        check=body["check"],
        component=body["component"],
        says=where,
        before=shown,
        unit=None if in_words else body["unit"] or usual,
        outcomes=tuple(outcomes) or ("healthy", "faulty") if in_words else (),
        calling=body["calling"],
    )


def _first(check: CheckLine) -> ClosingReading:
    return ClosingReading(
        check=check.check,
        component=check.component,
        says=f"{check_words(check.check)} at {check.component}",
        before="",
        unit=check.unit,
        outcomes=check.outcomes,
        calling=True if check.needs_call_state else None,
    )
