"""Some rows of the queue, for a page that shows the rest already."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import Ticket
from service.usecases.rows.views import QueueView
from service.usecases.showing.show_queue import queue_row, queue_view, show_queue

__all__ = ["show_rows"]


def show_rows(session: Session, now: datetime, tickets: Sequence[str] | None) -> QueueView:
    """Those of the named tickets that are open, with the alerts; all rows when none are named."""
    if tickets is None:
        return show_queue(session, now)
    found = session.scalars(
        select(Ticket).where(Ticket.id.in_(tickets), Ticket.state == "open").order_by(Ticket.id)
    )
    return queue_view(session, now, tuple(queue_row(session, ticket) for ticket in found))
