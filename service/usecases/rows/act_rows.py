"""What every act on a ticket does: look whether it still is as the person saw it, and note the act.

A change is noted as two tables, ``before`` and ``after``, of the things it touched, so that it can
be undone as long as nothing later stands on it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.auth.who import Who
from service.errors import ChangedError, ConflictError, InvalidError, NotFoundError, PointedError
from service.store.tables import ActedTicket, Complaint, DeskAct, Ticket
from service.usecases.rows.act_words import when_words
from service.usecases.rows.audit import note_act
from service.usecases.rows.ids import reference
from service.usecases.rows.ticket_rows import record_event

__all__ = [
    "AUTOMATIC",
    "Changes",
    "Deed",
    "complaint_to_act_on",
    "later_acts",
    "one_line",
    "open_ticket_row",
    "store_act",
    "store_move",
    "ticket_to_act_on",
]

AUTOMATIC = "endswitch"  # the account that stands beside moves of grouping
LONGEST_REASON = 500

Changes = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Deed:
    """What was done to a ticket: ``says`` in words, ``noted`` for the audit log without persons."""

    act: str  # one short word: "hold"
    phrase: str  # for the audit log: "ticket held"
    says: str
    before: Changes = field(default_factory=dict)
    after: Changes = field(default_factory=dict)
    more: Changes = field(default_factory=dict)  # anything else that undoing needs
    noted: Changes = field(default_factory=dict)
    # What the history says where ``says`` holds words that somebody typed: it is kept on phones.
    told: str = ""
    complaint_id: str | None = None
    in_history: bool = True  # False: what was done has a line of its own there


def ticket_to_act_on(session: Session, ticket_id: str, version: int) -> Ticket:
    """The ticket, locked, if it is open and still as the person saw it.

    Raises:
        NotFoundError: there is no such ticket.
        ConflictError: it is closed.
        ChangedError: somebody or something has changed it since.
    """
    ticket = open_ticket_row(session, ticket_id)
    if ticket.version != version:
        raise ChangedError(_since_then(session, ticket, version))
    return ticket


def open_ticket_row(session: Session, ticket_id: str) -> Ticket:
    """The ticket, locked, if it is open.

    Raises:
        NotFoundError: there is no such ticket.
        ConflictError: it is closed.
    """
    ticket = session.scalars(
        select(Ticket)
        .where(Ticket.id == ticket_id)
        .with_for_update()
        .execution_options(populate_existing=True)
    ).first()
    if ticket is None:
        raise NotFoundError("there is no such ticket")
    if ticket.state != "open":
        where = f": it joined {reference(ticket.merged_into)}" if ticket.merged_into else ""
        raise ConflictError(f"{reference(ticket.id)} is closed{where}. Nothing was changed.")
    return ticket


def complaint_to_act_on(session: Session, complaint_id: str) -> Complaint:
    """The complaint, if it is open.

    Raises:
        NotFoundError: there is no such complaint.
        ConflictError: it has ended.
    """
    complaint = session.get(Complaint, complaint_id)
    if complaint is None:
        raise NotFoundError("there is no such complaint")
    if complaint.closed_at is not None or complaint.ticket_id is None:
        raise ConflictError("the complaint has ended; nothing was changed")
    return complaint


def one_line(text: str, pointer: str, longest: int = LONGEST_REASON) -> str:
    """Words that a person typed, on one line.

    Raises:
        InvalidError: there are none, or too many.
    """
    said = " ".join(text.split())
    if not said:
        empty = PointedError(pointer, "is empty; write a few words")
        raise InvalidError("something is missing", (empty,))
    if len(said) > longest:
        wrong = PointedError(pointer, f"is longer than {longest} letters: shorten it")
        raise InvalidError("something is too long", (wrong,))
    return said


def store_act(
    session: Session,
    now: datetime,
    who: Who,
    ticket: Ticket,
    deed: Deed,
    others: Iterable[str] = (),
) -> DeskAct:
    """Note an act on a ticket, and on others that it changed: version, history, undo and audit."""
    act = _add(session, now, (who.account, who.name), ticket, deed)
    for ticket_id in sorted({ticket.id, *others, *_tickets_in(deed)}):
        changed = session.get_one(Ticket, ticket_id)
        changed.version += 1
        session.add(ActedTicket(act_id=act.id, ticket_id=ticket_id, version=changed.version))
        if deed.in_history and ticket_id in {ticket.id, *others}:
            body = {"says": deed.told or deed.says, "by": who.name, "act": act.id}
            record_event(session, now, ticket_id, "act", body)
    note_act(session, now, who, deed.phrase, ticket.id, {"act": act.id, **deed.noted})
    session.flush()
    return act


def store_move(
    session: Session, now: datetime, ticket: Ticket, deed: Deed, others: Iterable[str] = ()
) -> DeskAct:
    """Note a move of grouping; its tickets have their lines of history already."""
    act = _add(session, now, (AUTOMATIC, "Endswitch"), ticket, deed)
    for ticket_id in sorted({ticket.id, *others, *_tickets_in(deed)}):
        moved = session.get_one(Ticket, ticket_id)
        session.add(ActedTicket(act_id=act.id, ticket_id=ticket_id, version=moved.version))
    session.flush()
    return act


def later_acts(session: Session, act: DeskAct) -> list[DeskAct]:
    """Acts of persons, not undone, that have since changed a thing that this one changed."""
    tickets = select(ActedTicket.ticket_id).where(ActedTicket.act_id == act.id)
    acts = select(ActedTicket.act_id).where(ActedTicket.ticket_id.in_(tickets))
    rows = session.scalars(
        select(DeskAct)
        .where(DeskAct.id.in_(acts), DeskAct.id > act.id)
        .where(DeskAct.undone_at.is_(None), DeskAct.account != AUTOMATIC)
        .order_by(DeskAct.id)
    )
    touched = set(act.body["after"])
    return [row for row in rows if touched & set(row.body["after"])]


def _add(
    session: Session, now: datetime, by: tuple[str, str], ticket: Ticket, deed: Deed
) -> DeskAct:
    act = DeskAct(
        at=now,
        account=by[0],
        name=by[1],
        act=deed.act,
        ticket_id=ticket.id,
        complaint_id=deed.complaint_id,
        says=deed.says,
        body={"before": dict(deed.before), "after": dict(deed.after), **deed.more},
    )
    session.add(act)
    session.flush()
    return act


def _tickets_in(deed: Deed) -> set[str]:
    keys = (key.split("/") for key in (*deed.before, *deed.after))
    return {key[1] for key in keys if key[0] == "ticket"}


def _since_then(session: Session, ticket: Ticket, version: int) -> str:
    """Who changed what since, in words."""
    rows = session.execute(
        select(DeskAct.name, DeskAct.says, DeskAct.at, DeskAct.account)
        .join(ActedTicket, ActedTicket.act_id == DeskAct.id)
        .where(ActedTicket.ticket_id == ticket.id, ActedTicket.version > version)
        .where(DeskAct.undone_at.is_(None))
        .order_by(DeskAct.id.desc())
        .limit(3)
    ).all()
    said = [
        f"{says} ({'' if account == AUTOMATIC else f'{name}, '}"
        f"{when_words(session, ticket.building_id, at)})"
        for name, says, at, account in reversed(rows)
    ]
    changed = "; ".join(said) or "new evidence came in"
    return f"{reference(ticket.id)} has changed since you looked: {changed}. Look again first."
