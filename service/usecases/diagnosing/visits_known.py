"""Visits that found nothing at homes that report the same again, as evidence."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.model import ApartmentId, Evidence, Visited
from service.store.tables import Complaint, FactRow
from service.usecases.rows.nothing_found import VainVisit, visits_in_vain

__all__ = ["visits_known"]


def visits_known(
    session: Session, building_id: str, counting: Sequence[FactRow]
) -> tuple[Evidence, ...]:
    """Of the open complaints of a building; ``counting`` are the facts that count there now.

    A visit whose own readings count again, because the household said that it is not right, is known by
    these.
    """
    rows = session.scalars(
        select(Complaint)
        .where(Complaint.building_id == building_id, Complaint.closed_at.is_(None))
        .where(Complaint.confirmed)
        .order_by(Complaint.opened_at, Complaint.id)
    ).all()
    known: dict[tuple[str, int], Evidence] = {}
    for complaint_id, visits in visits_in_vain(session, rows).items():
        home = next(str(c.apartment) for c in rows if c.id == complaint_id)
        for visit in visits:
            if not _counts_by_readings(visit, counting):
                fact = Visited(ApartmentId(home), visit.readings)
                source = f"closing:{visit.closure}:{home}"
                known[home, visit.closure] = Evidence(source, visit.at, fact)
    return tuple(known.values())


def _counts_by_readings(visit: VainVisit, counting: Sequence[FactRow]) -> bool:
    return any(
        row.body["type"] == "found" and visit.reported_at <= row.at <= visit.at for row in counting
    )
