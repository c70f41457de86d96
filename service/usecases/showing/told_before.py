"""What to know before going again: how often a home has told of the same, and visits found nothing."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import Complaint, FactRow
from service.usecases.rows.nothing_found import ENOUGH, VainVisit, visits_in_vain
from service.usecases.rows.repair_views import ToldBefore
from service.usecases.showing.ticket_words import finding_words

__all__ = ["told_before"]

MOST_READINGS = 4
COUNTED = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
PLACES = (
    "first",
    "second",
    "third",
    "fourth",
    "fifth",
    "sixth",
    "seventh",
    "eighth",
    "ninth",
    "tenth",
)


def told_before(session: Session, complaints: Sequence[Complaint]) -> tuple[ToldBefore, ...]:
    """A line for each home to which enough visits went in vain for what it reports again."""
    open_ones = [c for c in complaints if c.closed_at is None]
    in_vain = visits_in_vain(session, open_ones)
    lines: dict[str, ToldBefore] = {}
    for complaint in open_ones:
        visits = in_vain.get(complaint.id, ())
        if len(visits) >= ENOUGH and complaint.apartment is not None:
            lines.setdefault(complaint.apartment, _line(session, complaint, visits))
    return tuple(lines.values())


def _line(session: Session, complaint: Complaint, visits: Sequence[VainVisit]) -> ToldBefore:
    count = len(visits)
    place = PLACES[count] if count < len(PLACES) else f"{count + 1}th"
    number = COUNTED[count] if count < len(COUNTED) else str(count)
    within = _span(complaint.since - visits[0].reported_at)
    return ToldBefore(
        apartment=str(complaint.apartment),
        says=f"{place} report in {within}, {number} visits found nothing",
        last_at=visits[-1].at,
        measured=_measured(session, visits[-1]),
    )


def _span(span: timedelta) -> str:
    """Rounded up: two weeks and a day are three weeks to whoever counts reports."""
    days = max(span.days, 0) + 1
    if days < 14:
        return f"{days} day{'s' if days > 1 else ''}"
    return f"{-(-days // 7)} weeks"


def _measured(session: Session, visit: VainVisit) -> tuple[str, ...]:
    """The readings of a visit in words, the last ones."""
    rows = session.scalars(
        select(FactRow)
        .where(FactRow.ticket_id == visit.ticket)
        .where(FactRow.at >= visit.reported_at, FactRow.at <= visit.at)
        .order_by(FactRow.at, FactRow.id)
    )
    found = [finding_words(row.body) for row in rows if row.body["type"] == "found"]
    return tuple(found[-MOST_READINGS:])
