"""A person moves complaints between tickets: what merging, splitting and pinning have in common.

The building is diagnosed again in the same transaction. Everything that moves then is noted as part
of the person's act, so that undoing it brings back the grouping as a whole.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.auth.who import Who
from service.errors import ConflictError
from service.store.tables import Complaint, Ticket
from service.usecases.diagnosing.grouping_state import changed, grouping_of
from service.usecases.diagnosing.rediagnose import diagnose_again
from service.usecases.rows.act_rows import Deed, store_act
from service.usecases.rows.ids import reference
from service.usecases.rows.ticket_rows import move_complaints

__all__ = ["Regrouping", "homes_in_words", "pin_to", "regrouping", "same_home"]


@dataclass(slots=True)
class Regrouping:
    """An act of regrouping under way; whoever makes it says in ``deed`` what it was."""

    ticket: Ticket
    deed: Deed
    others: Sequence[str] = ()


@contextmanager
def regrouping(
    session: Session, now: datetime, who: Who, ticket: Ticket, deed: Deed
) -> Iterator[Regrouping]:
    """Note what is moved within, diagnose the building again, and note what that moves.

    Raises:
        ConflictError: nobody knows which building the ticket belongs to.
    """
    if ticket.building_id is None:
        raise ConflictError(f"nobody knows yet which home {reference(ticket.id)} is about")
    complaints = list(
        session.scalars(
            select(Complaint)
            .where(Complaint.building_id == ticket.building_id, Complaint.closed_at.is_(None))
            .order_by(Complaint.opened_at, Complaint.id)
        )
    )
    before = grouping_of(session, complaints)
    act = Regrouping(ticket, deed)
    yield act
    session.flush()
    diagnose_again(session, now, ticket, within_act=True)
    session.flush()
    known = [key.split("/")[1] for key in before if key.startswith("ticket/")]
    old, new = changed(before, grouping_of(session, complaints, known))
    store_act(session, now, who, act.ticket, replace(act.deed, before=old, after=new), act.others)


def pin_to(
    session: Session, now: datetime, ticket: Ticket, complaints: Sequence[Complaint], why: str
) -> None:
    """Put complaints on a ticket, where they stay until a person says otherwise."""
    for complaint in complaints:
        complaint.pinned = False
    move_complaints(session, now, ticket, complaints, why)
    for complaint in complaints:
        complaint.pinned = True
    session.flush()


def same_home(session: Session, complaints: Iterable[Complaint]) -> list[Complaint]:
    """These open complaints with all others of their homes: they are never on two tickets."""
    found: dict[str, Complaint] = {}
    for complaint in complaints:
        rows = session.scalars(
            select(Complaint)
            .where(Complaint.building_id == complaint.building_id)
            .where(Complaint.apartment == complaint.apartment, Complaint.closed_at.is_(None))
            .order_by(Complaint.opened_at, Complaint.id)
        )
        found |= {row.id: row for row in rows}
    return list(found.values())


def homes_in_words(complaints: Iterable[Complaint]) -> str:
    """The homes of complaints: "2B and 3C"."""
    homes = sorted({c.apartment or "a home not known yet" for c in complaints})
    return " and ".join([", ".join(homes[:-1]), homes[-1]] if len(homes) > 1 else homes)
