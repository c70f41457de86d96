"""Keep what a ticket stated before anybody measured, so that it can be held against what was found."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from service.store.tables import Forecast, Ticket
from service.usecases.rows.told_names import told_suspects

__all__ = ["forecast_of", "keep_forecast", "stated"]


def keep_forecast(session: Session, now: datetime, ticket: Ticket) -> None:
    """Write down what is stated now, unless that was done for this ticket before."""
    if session.get(Forecast, ticket.id) is None:
        suspects, unknown = stated(ticket.picture)
        session.add(Forecast(ticket_id=ticket.id, at=now, suspects=suspects, unknown=unknown))
        session.flush()


def forecast_of(session: Session, now: datetime, ticket: Ticket) -> Forecast:
    """What was stated first; what is stated now where nothing was measured."""
    keep_forecast(session, now, ticket)
    return session.get_one(Forecast, ticket.id)


def stated(picture: Mapping[str, Any]) -> tuple[list[dict[str, Any]], float]:
    """The suspects by their listed names with their probabilities, and the share of something else."""
    named = [
        {key: suspect[key] for key in ("fault", "component", "probability")}
        for suspect in told_suspects(picture["suspects"])
    ]
    return named, float(picture["unknown"])
