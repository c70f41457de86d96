"""Somebody at the desk says which home a report is about: people tell it on the phone."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.auth.who import Who
from service.errors import ConflictError
from service.store.tables import Building, Ticket
from service.usecases.desk.find_home import home_on_file
from service.usecases.desk.take_over import talk_on_from
from service.usecases.diagnosing.rediagnose import rediagnose_if_possible
from service.usecases.rows.act_rows import Deed, complaint_to_act_on, store_act
from service.usecases.rows.complaint_rows import place_complaint
from service.usecases.rows.services import SmsRules

__all__ = ["buildings_by_name", "place_by_person"]


def buildings_by_name(session: Session) -> tuple[tuple[str, str], ...]:
    """All buildings, as (id, name)."""
    rows = session.execute(select(Building.id, Building.document["name"].as_string()))
    return tuple(sorted(((i, str(name)) for i, name in rows), key=lambda pair: pair[1]))


def place_by_person(
    session: Session,
    now: datetime,
    who: Who,
    complaint_id: str,
    building: str,
    apartment: str,
    *,
    sms: SmsRules,
) -> str:
    """Give a report its home; returns the ticket that it is on then.

    The conversation goes on from there. Whether the phone belongs to that home is another matter:
    the sender stays to be confirmed.

    Raises:
        NotFoundError: there is no such complaint.
        ConflictError: it has ended, or its home is known.
        InvalidError: there is no such building, or no such apartment in it.
    """
    complaint = complaint_to_act_on(session, complaint_id)
    if complaint.building_id is not None:
        raise ConflictError(f"the home is known already: {complaint.apartment}")
    home = home_on_file(session, building, apartment)
    kept = place_complaint(session, now, complaint, home)
    rediagnose_if_possible(session, now, home[0])
    session.flush()
    deed = Deed(
        "place",
        "home named",
        f"{home[1]} named as the home of a report",
        noted={"complaint": kept.id, "building": home[0]},
        complaint_id=kept.id,
    )
    ticket = session.get_one(Ticket, str(kept.ticket_id))
    store_act(session, now, who, ticket, deed)
    talk_on_from(session, now, sms, kept, home)
    return ticket.id
