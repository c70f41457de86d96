"""What a phone carries of a ticket so that it can weigh readings without signal."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from rules.checks.worksheet import worksheet
from rules.model import ApartmentId
from service.usecases.diagnosing.record_finding import ticket_row
from service.usecases.diagnosing.rediagnose import believed
from service.usecases.repairs.take_from_truck import arrived_for
from service.usecases.rows.ticket_rows import open_complaints_of

__all__ = ["ticket_worksheet"]


def ticket_worksheet(session: Session, now: datetime, ticket_id: str) -> Mapping[str, Any]:
    """The worksheet of a ticket with the readings that it already holds.

    Without a diagnosis (closed, no known home, evidence that contradicts itself) ``sheet`` is None.

    Raises:
        NotFoundError: there is no such ticket.
    """
    ticket = ticket_row(session, ticket_id)
    return {
        "ticket": ticket.id,
        "version": ticket.version,
        "made_at": now.isoformat(),
        "state": ticket.state,
        "merged_into": ticket.merged_into,
        "arrived": list(arrived_for(session, ticket.id)),
        "sheet": _sheet(session, now, ticket.id, ticket.building_id),
    }


def _sheet(
    session: Session, now: datetime, ticket_id: str, building_id: str | None
) -> Mapping[str, Any] | None:
    homes = {c.apartment for c in open_complaints_of(session, ticket_id) if c.apartment}
    diagnosis = believed(session, now, building_id)
    if diagnosis is None:
        return None
    members = sorted(ApartmentId(h) for h in homes if h in diagnosis.causes)
    return worksheet(diagnosis, members) if members else None
