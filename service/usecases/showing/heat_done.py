"""What was done for homes that told how warm it was: every act, ticket by ticket, without names."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.faults.catalogue import faults, parts
from rules.model import FaultId, PartId
from service.store.tables import (
    ActedTicket,
    Closure,
    Complaint,
    DeskAct,
    FactRow,
    Ticket,
    TicketEvent,
)
from service.usecases.rows.act_rows import AUTOMATIC
from service.usecases.rows.ids import reference

__all__ = ["Done", "TicketDone", "done_on", "told_and_done"]

# What of the desk's acts an owner asks about: not who is on which ticket, but what was done for a home.
ACTS = {
    "assign": "given to somebody",
    "hold": "put on hold",
    "respond_by": "time to act by changed",
    "broadcast": "households written to",
    "write": "household written to",
    "take_over": "a person wrote with the household",
}
HOUSEHOLDS = {
    "confirmed": "a household says that it is right now",
    "reopened": "a household says that it is still not right",
}
ENDED = {
    "fixed": "the report of {home} ended with the repair",
    "resolved": "{home} says that it is over",
    "cancelled": "{home} took its report back",
    "no_danger": "the report of {home} ended: no danger after all",
}


@dataclass(frozen=True, slots=True)
class Done:
    """One thing that was done; ``more`` is what a technician found and fitted."""

    at: datetime
    says: str
    more: str = ""


@dataclass(frozen=True, slots=True)
class TicketDone:
    """All of a ticket, from its first report, oldest first."""

    reference: str
    homes: tuple[str, ...]
    lines: tuple[Done, ...]


def done_on(session: Session, tickets: Collection[str]) -> dict[str, list[Done]]:
    """What people of ours did, by ticket, oldest first; no reasons and no names."""
    found: dict[str, list[Done]] = {}
    for ticket, done in (
        *_acts(session, tickets),
        *_measured(session, tickets),
        *_closed(session, tickets),
    ):
        found.setdefault(ticket, []).append(done)
    return {ticket: sorted(lines, key=lambda d: d.at) for ticket, lines in found.items()}


def told_and_done(session: Session, tickets: Sequence[str]) -> tuple[TicketDone, ...]:
    """The same with what the households said of it, the ticket that was opened last first.

    What was done on a ticket that was merged into another stands with the other.
    """
    goes_on_as = _merged(session, tickets)
    found: dict[str, list[Done]] = {ticket: [] for ticket in tickets}
    for ticket, lines in done_on(session, goes_on_as).items():
        found[goes_on_as[ticket]] += lines
    homes: dict[str, set[str]] = {ticket: set() for ticket in tickets}
    for complaint in session.scalars(select(Complaint).where(Complaint.ticket_id.in_(tickets))):
        ticket, home = str(complaint.ticket_id), complaint.apartment or "a home not known yet"
        homes[ticket].add(home)
        found[ticket].append(Done(complaint.opened_at, f"{home} reported it"))
        ended = ENDED.get(complaint.outcome or "")
        if complaint.closed_at is not None and ended:
            found[ticket].append(Done(complaint.closed_at, ended.format(home=home)))
    for event in session.scalars(
        select(TicketEvent)
        .where(TicketEvent.ticket_id.in_(tickets), TicketEvent.what.in_(HOUSEHOLDS))
        .order_by(TicketEvent.id)
    ):
        found[event.ticket_id].append(Done(event.at, HOUSEHOLDS[event.what]))
    opened = session.execute(select(Ticket.id, Ticket.opened_at).where(Ticket.id.in_(tickets)))
    order = sorted(opened, key=lambda row: (row.opened_at, row.id), reverse=True)
    return tuple(
        TicketDone(
            reference(ticket),
            tuple(sorted(homes[ticket])),
            # Several readings of one moment are one line.
            tuple(sorted(dict.fromkeys(found[ticket]), key=lambda d: d.at)),
        )
        for ticket, _ in order
    )


def _merged(session: Session, tickets: Sequence[str]) -> dict[str, str]:
    """The tickets themselves and all that were merged into them, each with what it goes on as."""
    found = {ticket: ticket for ticket in tickets}
    new = set(tickets)
    while new:
        rows = session.execute(
            select(Ticket.id, Ticket.merged_into).where(Ticket.merged_into.in_(new))
        ).all()
        new = {row.id for row in rows if row.id not in found}
        found |= {row.id: found[str(row.merged_into)] for row in rows if row.id in new}
    return found


def _acts(session: Session, tickets: Collection[str]) -> Iterator[tuple[str, Done]]:
    for ticket, at, act in session.execute(
        select(ActedTicket.ticket_id, DeskAct.at, DeskAct.act)
        .join(DeskAct, DeskAct.id == ActedTicket.act_id)
        .where(ActedTicket.ticket_id.in_(tickets), DeskAct.account != AUTOMATIC)
        .where(DeskAct.undone_at.is_(None), DeskAct.act.in_(ACTS))
    ):
        yield ticket, Done(at, ACTS[act])


def _measured(session: Session, tickets: Collection[str]) -> Iterator[tuple[str, Done]]:
    for ticket, at in session.execute(
        select(FactRow.ticket_id, FactRow.at).where(FactRow.ticket_id.in_(tickets))
    ):
        yield str(ticket), Done(at, "measured by a technician")


def _closed(session: Session, tickets: Collection[str]) -> Iterator[tuple[str, Done]]:
    for closure in session.scalars(select(Closure).where(Closure.ticket_id.in_(tickets))):
        fault = faults().get(FaultId(closure.fault)) if closure.fault else None
        where = f" ({closure.component})" if closure.component else ""
        fitted = (parts().get(PartId(row["part"])) for row in closure.parts)
        names = ", ".join(part.says for part in fitted if part is not None)
        found = fault.says + where if fault else f"no fault of the list named{where}"
        more = f"{found}; fitted: {names}" if names else found
        yield closure.ticket_id, Done(closure.closed_at, "closed by a technician", more)
