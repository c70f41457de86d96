"""Visits that have found nothing at a home, for the trouble that it reports again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import Closure, ClosureDetail, Complaint, FactRow, Ticket

__all__ = ["ENOUGH", "VainVisit", "is_looked_only", "visits_in_vain"]

# What comes back within two months is the same story, and two visits in a row that measure and find
# nothing tell as much as a third would (common practice, no source).
SAME_STORY = timedelta(days=60)
ENOUGH = 2


@dataclass(frozen=True, slots=True)
class VainVisit:
    """A closing without a cause and without a part."""

    at: datetime
    ticket: str
    closure: int
    reported_at: datetime  # when the home had reported
    readings: int  # measured on it


def is_looked_only(closure: Closure) -> bool:
    """Whether nothing was found that has a name, and nothing fitted: nobody says that work is done."""
    return closure.fault is None and not closure.parts


def visits_in_vain(
    session: Session, complaints: Sequence[Complaint]
) -> Mapping[str, tuple[VainVisit, ...]]:
    """By complaint: the last visits at its home that found nothing, the oldest first.

    They are of the same kind, within two months before it was opened (again), and after whatever was
    last found or fitted there.
    """
    placed = [c for c in complaints if c.building_id is not None and c.apartment is not None]
    if not placed:
        return {}
    since = min(c.since for c in placed) - SAME_STORY
    rows = session.execute(
        select(Closure, ClosureDetail.readings)
        .join(Ticket, Ticket.id == Closure.ticket_id)
        .outerjoin(ClosureDetail, ClosureDetail.closure_id == Closure.id)
        .where(Ticket.building_id.in_({c.building_id for c in placed}), Closure.closed_at > since)
        .order_by(Closure.closed_at.desc(), Closure.id.desc())
    ).all()
    if not any(is_looked_only(closure) for closure, _ in rows):
        return {}
    ended = _ended_with(session, placed, {closure.closed_at for closure, _ in rows})
    return {
        c.id: found
        for c in placed
        if (found := _of_home(c, [(r[0], r[1] or 0) for r in rows], ended))
    }


_Home = tuple[str | None, str | None]
_Ended = Mapping[tuple[datetime | None, _Home], list[FactRow]]


def _ended_with(session: Session, complaints: Sequence[Complaint], times: set[datetime]) -> _Ended:
    """What homes had reported until a closing, by its time and the home."""
    found: dict[tuple[datetime | None, _Home], list[FactRow]] = {}
    rows = session.scalars(
        select(FactRow)
        .where(FactRow.building_id.in_({c.building_id for c in complaints}))
        .where(FactRow.apartment.in_({c.apartment for c in complaints}))
        .where(FactRow.withdrawn_at.in_(times))
        .order_by(FactRow.at, FactRow.id)
    )
    for row in rows:
        if row.body["type"] == "reported":
            home = (row.building_id, row.apartment)
            found.setdefault((row.withdrawn_at, home), []).append(row)
    return found


def _of_home(
    complaint: Complaint, closures: Sequence[tuple[Closure, int]], ended: _Ended
) -> tuple[VainVisit, ...]:
    """``closures`` with the readings of each, the newest first."""
    found: list[VainVisit] = []
    for closure, readings in closures:
        at = closure.closed_at
        told = ended.get((at, (complaint.building_id, complaint.apartment)), [])
        same = [row for row in told if set(row.body["kinds"]) & set(complaint.kinds)]
        if not same or at > complaint.since or at <= complaint.since - SAME_STORY:
            continue
        if not is_looked_only(closure):
            break
        visit = VainVisit(at, closure.ticket_id, closure.id, same[0].at, readings)
        found.append(visit)
    return tuple(reversed(found))
