"""Changes to complaints: open, place, add facts, end, reopen."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from sqlalchemy import or_, select, update
from sqlalchemy.orm import Session

from rules.asking.troubles import names_trouble
from rules.model import ApartmentId, Fact, Kind, Reported
from rules.reading import Reading
from service.store.tables import Complaint, FactRow, Ticket
from service.usecases.loading.whose_phone import Home, is_on_file, is_theirs
from service.usecases.rows.facts import fact_body, fact_in, facts_in_reading, known_topics
from service.usecases.rows.ids import new_id
from service.usecases.rows.ticket_rows import close_emptied, move_complaints, record_event

__all__ = [
    "add_facts",
    "add_reading",
    "end_complaint",
    "facts_of",
    "find_complaint",
    "join_confirmed",
    "last_repaired",
    "open_complaint",
    "place_complaint",
    "reopen_complaint",
    "reopen_ticket",
    "withdraw_answer",
]


_WHY_CLOSED = {"no_danger": "no danger after all, and nothing else was reported"}


def find_complaint(session: Session, number: str, home: Home | None) -> Complaint | None:
    """The open complaint of a home, or of a number whose home is not known yet.

    A number that is not on file for the home finds only what it has reported itself.
    """
    query = select(Complaint).where(Complaint.closed_at.is_(None))
    own = Complaint.number == number
    if home is None:
        query = query.where(Complaint.building_id.is_(None), own)
    else:
        query = query.where(Complaint.building_id == home[0], Complaint.apartment == home[1])
        on_file = is_on_file(session, number, home)
        query = query.where(or_(Complaint.confirmed, own) if on_file else own)
    order = (Complaint.confirmed.desc(), Complaint.opened_at)
    found = session.scalars(query.order_by(*order))
    return next((complaint for complaint in found if is_theirs(session, complaint)), None)


def open_complaint(session: Session, now: datetime, number: str, home: Home | None) -> Complaint:
    """A new complaint; it has no ticket until the building is diagnosed."""
    complaint = Complaint(
        id=new_id("c"),
        building_id=home[0] if home else None,
        apartment=home[1] if home else None,
        number=number,
        opened_at=now,
        kinds=[],
        care=[],
        danger=[],
        pinned=False,
        confirmed=is_on_file(session, number, home),
    )
    session.add(complaint)
    session.flush()
    return complaint


def place_complaint(session: Session, now: datetime, complaint: Complaint, home: Home) -> Complaint:
    """Give a complaint its home; joins the complaint that home already has, if it has one."""
    there = find_complaint(session, complaint.number, home)
    kept = there if there is not None and there.id != complaint.id else complaint
    if kept is not complaint:
        _absorb(session, now, kept, complaint)
    complaint.building_id, complaint.apartment = home
    complaint.confirmed = is_on_file(session, complaint.number, home)
    session.execute(
        update(FactRow)
        .where(FactRow.complaint_id == kept.id)
        .values(building_id=home[0], apartment=home[1])
    )
    session.flush()
    return kept


def join_confirmed(session: Session, now: datetime, complaint: Complaint) -> Complaint:
    """Its sender belongs to the home: it counts, with what that home has reported already."""
    complaint.confirmed = True
    there = session.scalars(
        select(Complaint)
        .where(Complaint.building_id == complaint.building_id)
        .where(Complaint.apartment == complaint.apartment, Complaint.closed_at.is_(None))
        .where(Complaint.confirmed, Complaint.id != complaint.id)
        .order_by(Complaint.opened_at)
        .limit(1)
    ).first()
    if there is not None:
        _absorb(session, now, there, complaint)
    session.flush()
    return there or complaint


def withdraw_answer(session: Session, now: datetime, complaint: Complaint, topic: str) -> None:
    """The tenant takes an answer back: what the text that gave it has answered counts no more."""
    rows = facts_of(session, complaint)
    given = [row for row in rows if topic in {str(t) for t in known_topics(_facts((row,)))}]
    if not given:
        return
    for row in rows:
        if row.source == given[-1].source and row.body["type"] in {"answered", "room_read"}:
            row.withdrawn_at = now
    session.flush()


def add_reading(
    session: Session,
    now: datetime,
    complaint: Complaint,
    reading: Reading,
    *,
    source: str,
    dangers: Iterable[str],
    at: datetime,
) -> None:
    """Write down what a text says about a complaint; ``at`` is when it was written."""
    complaint.kinds = _union(complaint.kinds, (k.value for k in reading.kinds))
    complaint.care = _union(complaint.care, (c.value for c in reading.care))
    complaint.danger = _union(complaint.danger, dangers)
    facts = facts_in_reading(reading, complaint.apartment)
    add_facts(session, now, complaint, facts, source=source, at=at)


def add_facts(
    session: Session,
    now: datetime,
    complaint: Complaint,
    facts: Iterable[Fact],
    *,
    source: str,
    at: datetime,
) -> None:
    """Add facts that were told at ``at``; of two answers to a question the one told last counts."""
    for fact in facts:
        body, overtaken = fact_body(fact), False
        if body["type"] == "answered":
            for row in facts_of(session, complaint):
                if row.body.get("topic") == body["topic"]:
                    overtaken = overtaken or row.at > at
                    if row.at <= at:
                        row.withdrawn_at = now
        session.add(
            FactRow(
                building_id=complaint.building_id,
                complaint_id=complaint.id,
                apartment=complaint.apartment,
                source=source,
                at=at,
                body=body,
                withdrawn_at=now if overtaken else None,
            )
        )
    session.flush()


def facts_of(session: Session, complaint: Complaint) -> list[FactRow]:
    """The facts of a complaint that count."""
    return list(
        session.scalars(
            select(FactRow)
            .where(FactRow.complaint_id == complaint.id, FactRow.withdrawn_at.is_(None))
            .order_by(FactRow.at, FactRow.id)
        )
    )


def end_complaint(session: Session, now: datetime, complaint: Complaint, outcome: str) -> None:
    """Close a complaint; what it said is no evidence any more."""
    complaint.closed_at = now
    complaint.outcome = outcome
    complaint.taken_over_by = None
    session.execute(
        update(FactRow)
        .where(FactRow.complaint_id == complaint.id, FactRow.withdrawn_at.is_(None))
        .values(withdrawn_at=now)
    )
    session.flush()
    if outcome != "fixed" and complaint.ticket_id is not None:
        ticket = session.get_one(Ticket, complaint.ticket_id)
        body = {"complaint": complaint.id, "outcome": outcome}
        record_event(session, now, ticket.id, "complaint_ended", body)
        close_emptied(
            session, now, ticket, _WHY_CLOSED.get(outcome, f"the tenants say it is {outcome}")
        )


def last_repaired(session: Session, number: str) -> Complaint | None:
    """The complaint whose repair a number was last asked about, if it still lives there."""
    found = session.scalars(
        select(Complaint)
        .where(Complaint.number == number, Complaint.outcome == "fixed")
        .where(Complaint.closed_at.is_not(None))
        .order_by(Complaint.closed_at.desc(), Complaint.id)
        .limit(1)
    ).first()
    return found if found is not None and is_theirs(session, found) else None


def reopen_complaint(
    session: Session, now: datetime, complaint: Complaint, *, source: str, at: datetime
) -> None:
    """The repair did not help, it was told at ``at``: the same complaint and ticket are open again."""
    complaint.reopened_at = now
    complaint.closed_at = None
    complaint.outcome = None
    if complaint.ticket_id is not None:
        reopen_ticket(session, now, session.get_one(Ticket, complaint.ticket_id), complaint)
    add_facts(session, now, complaint, _said_again(session, complaint), source=source, at=at)


def reopen_ticket(session: Session, now: datetime, ticket: Ticket, complaint: Complaint) -> None:
    """Open a closed ticket again, for this complaint of it."""
    if ticket.state != "closed":
        return
    ticket.state = "open"
    ticket.closed_at = None
    ticket.merged_into = None
    ticket.held_until, ticket.hold_reason, ticket.respond_by_set = None, None, None
    ticket.version += 1
    record_event(session, now, ticket.id, "reopened", {"complaint": complaint.id})


def _facts(rows: Iterable[FactRow]) -> tuple[Fact, ...]:
    found = (fact_in(row) for row in rows)
    return tuple(fact for fact in found if fact is not None)


def _said_again(session: Session, complaint: Complaint) -> tuple[Fact, ...]:
    """What it was about: the kinds, or the last answer that said what is wrong, as of a hot tap."""
    kinds = frozenset(Kind(k) for k in complaint.kinds)
    reported = (Reported(ApartmentId(complaint.apartment or ""), kinds),) if kinds else ()
    query = select(FactRow).where(FactRow.complaint_id == complaint.id)
    told = _facts(session.scalars(query.order_by(FactRow.at, FactRow.id)))
    return (*reported, *[fact for fact in told if names_trouble(fact)][-1:])


def _absorb(session: Session, now: datetime, kept: Complaint, gone: Complaint) -> None:
    """Two complaints turn out to come from one home: all that was said goes to the older one."""
    kept.kinds = _union(kept.kinds, gone.kinds)
    kept.care = _union(kept.care, gone.care)
    kept.danger = _union(kept.danger, gone.danger)
    session.execute(
        update(FactRow).where(FactRow.complaint_id == gone.id).values(complaint_id=kept.id)
    )
    gone.pinned = False
    if gone.ticket_id is not None and kept.ticket_id is not None:
        move_complaints(session, now, session.get_one(Ticket, kept.ticket_id), [gone])
    gone.closed_at = now
    gone.outcome = "joined"


def _union(known: Iterable[object], more: Iterable[object]) -> list[Any]:
    return sorted({str(k) for k in known} | {str(m) for m in more})
