"""Which home, building and ticket alerts are about."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import Alert, Building, Complaint, InboxMessage, Ticket

__all__ = ["AlertPlace", "places_of"]


@dataclass(frozen=True, slots=True)
class AlertPlace:
    """What an alert is about, as far as it is known; ``building`` is the building's name."""

    ticket: str | None = None
    apartment: str | None = None
    building: str = ""

    @property
    def words(self) -> str:
        """The home and the building: "2B, 9 Quarry Street"."""
        return ", ".join(part for part in (self.apartment, self.building) if part)


def places_of(session: Session, alerts: Iterable[Alert]) -> dict[int, AlertPlace]:
    """The place of each alert: by its complaint, else its text's, else its ticket."""
    alerts = list(alerts)
    texts = {
        row.id: row
        for row in session.execute(
            select(InboxMessage.id, InboxMessage.complaint_id, InboxMessage.ticket_id).where(
                InboxMessage.id.in_({a.message_id for a in alerts})
            )
        )
    }
    about: dict[int, tuple[str | None, str | None]] = {}
    for alert in alerts:
        text = texts.get(alert.message_id or "")
        about[alert.id] = (
            alert.complaint_id or (text.complaint_id if text is not None else None),
            alert.ticket_id or (text.ticket_id if text is not None else None),
        )
    complaints = {
        row.id: row
        for row in session.execute(
            select(
                Complaint.id, Complaint.ticket_id, Complaint.apartment, Complaint.building_id
            ).where(Complaint.id.in_({c for c, _ in about.values()}))
        )
    }
    tickets = {
        row.id: row.building_id
        for row in session.execute(
            select(Ticket.id, Ticket.building_id).where(
                Ticket.id.in_({t for _, t in about.values()})
            )
        )
    }
    names = {
        str(i): str(name)
        for i, name in session.execute(
            select(Building.id, Building.document["name"].as_string()).where(
                Building.id.in_({*tickets.values(), *(c.building_id for c in complaints.values())})
            )
        )
    }
    found = {}
    for alert_id, (complaint_id, ticket_id) in about.items():
        complaint = complaints.get(complaint_id or "")
        if complaint is not None:
            name = names.get(complaint.building_id or "", "")
            found[alert_id] = AlertPlace(
                complaint.ticket_id or ticket_id, complaint.apartment, name
            )
        else:
            name = names.get(tickets.get(ticket_id or "") or "", "")
            found[alert_id] = AlertPlace(ticket_id, None, name)
    return found
