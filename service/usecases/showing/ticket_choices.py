"""What a person can choose on a ticket's page: its complaints, other tickets nearby, what was wrong."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.faults.candidates import local_candidates, shared_candidates
from rules.model import ApartmentId
from rules.plant import Plant
from service.store.tables import Complaint, Ticket
from service.usecases.rows.act_views import ComplaintLine, OtherTicket
from service.usecases.rows.ids import reference
from service.usecases.rows.views import SuspectLine

__all__ = ["complaint_lines", "fault_choices", "other_tickets"]

MOST_FAULT_CHOICES = 200


def complaint_lines(complaints: Iterable[Complaint]) -> tuple[ComplaintLine, ...]:
    """The complaints as pages show them."""
    return tuple(
        ComplaintLine(
            complaint=row.id,
            apartment=row.apartment,
            kinds=tuple(sorted(str(k) for k in row.kinds)),
            opened_at=row.opened_at,
            pinned=row.pinned,
            confirmed=row.confirmed,
            danger=bool(row.danger),
            taken_over_by=row.taken_over_by,
        )
        for row in complaints
    )


def other_tickets(session: Session, ticket: Ticket) -> tuple[OtherTicket, ...]:
    """Other open tickets of the building, dangers first, then the oldest."""
    if ticket.building_id is None or ticket.state != "open":
        return ()
    homes: dict[str, set[str]] = {}
    rows = session.execute(
        select(Complaint.ticket_id, Complaint.apartment).where(
            Complaint.building_id == ticket.building_id, Complaint.closed_at.is_(None)
        )
    )
    for ticket_id, apartment in rows:
        homes.setdefault(str(ticket_id), set()).add(str(apartment))
    others = session.execute(
        select(Ticket.id, Ticket.picture["suspects"][0]["says"].as_string(), Ticket.danger)
        .where(Ticket.building_id == ticket.building_id, Ticket.state == "open")
        .where(Ticket.id != ticket.id)
        .order_by(Ticket.danger.desc(), Ticket.opened_at, Ticket.id)
    )
    return tuple(
        OtherTicket(other, reference(other), tuple(sorted(homes.get(other, ()))), says, danger)
        for other, says, danger in others
    )


def fault_choices(
    plant: Plant | None,
    complaints: Sequence[Complaint],
    suspects: tuple[SuspectLine, ...],
    on: date,
) -> tuple[tuple[str, str, str], ...]:
    """The suspects first, then every other fault that could reach these homes."""
    choices = {(s.fault, s.component): s.says for s in suspects}
    homes = {ApartmentId(c.apartment) for c in complaints if c.apartment is not None}
    if plant is not None:
        for candidate in shared_candidates(plant, on):
            if candidate.homes & homes and candidate.row is not None:
                key = (str(candidate.fault), str(candidate.component))
                choices.setdefault(key, candidate.row.says)
        for apartment in plant.apartments:
            if apartment.id in homes:
                for candidate in local_candidates(plant, apartment, on):
                    if candidate.row is not None:
                        key = (str(candidate.fault), str(candidate.component))
                        choices.setdefault(key, candidate.row.says)
    listed = [(fault, component, says) for (fault, component), says in choices.items()]
    return tuple(listed[:MOST_FAULT_CHOICES])
