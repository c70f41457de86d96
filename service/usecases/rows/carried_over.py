"""What still counts from before: questions already put to a home, late answers, a recent repair."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta

from sqlalchemy import and_, or_, select, update
from sqlalchemy.orm import Session

from rules.asking.conversation import RIGHT_NOW, Conversation, State, while_it_counts
from rules.model import TopicId
from service.store.tables import Complaint, NumberRow, OutboxMessage, TicketEvent, TimerRow
from service.usecases.loading.page_names import is_page
from service.usecases.loading.whose_phone import Home, homes_known, is_theirs
from service.usecases.rows.complaint_rows import find_complaint
from service.usecases.rows.ticket_rows import record_event

__all__ = [
    "PROOF_TAKES",
    "REMEMBERED",
    "asked_before_repair",
    "asked_of_home",
    "called_over",
    "confirm_repair",
    "conversation_now",
    "reopened_at",
    "repaired_lately",
    "waiting_for_proof",
    "waits_for_proof",
]

# Common practice, no source: what comes back within two weeks of a repair is the same trouble.
REMEMBERED = timedelta(days=14)
# Common practice, no source: three days after "it works now" hardly anybody says "again" of that.
OVER = timedelta(days=3)
# What a repair is to change: how warm it is, and the radiator.
ASKED_ANEW = frozenset({TopicId("q_read"), TopicId("q_hot")})
# Whom we told that work is done waits until it is asked, and has a day to answer: meanwhile its silence
# says nothing.
PROOF_TAKES = timedelta(hours=36)
CALLED_OVER = frozenset({"resolved", "cancelled"})


def conversation_now(
    session: Session, now: datetime, row: NumberRow, conversation: Conversation
) -> Conversation:
    """The conversation without a question to which no answer counts any more.

    It lies too far back, or the report that it was about has ended; or it is whether a repair has
    helped, and another phone of the home has said that it has not.
    """
    minutes = (now - row.updated_at).total_seconds() / 60
    found = while_it_counts(conversation, minutes)
    if found.state is not State.CLOSED or found.current is None:
        return found
    unplaced = find_complaint(session, row.number, None)
    there = unplaced or (found.home and find_complaint(session, row.number, found.home))
    counts = bool(there) is (found.current != RIGHT_NOW)
    return found if counts else replace(found, current=None, homes=())


def asked_of_home(
    session: Session, complaint: Complaint, number: str, conversation: Conversation
) -> Conversation:
    """The conversation with what other phones and the page of the home were asked for this report."""
    others = tuple(_asked_by_others(session, complaint, number))
    more = tuple(t for t in dict.fromkeys(others) if t not in conversation.asked)
    return replace(conversation, asked=(*more, *conversation.asked)) if more else conversation


def asked_before_repair(session: Session, complaint: Complaint) -> frozenset[TopicId]:
    """What a home was asked before a repair that has not helped, and what of it changes hardly."""
    reopened = reopened_at(session, complaint)
    if not reopened:
        return frozenset()
    asked = session.scalars(
        select(OutboxMessage.asks)
        .where(OutboxMessage.complaint_id == complaint.id, OutboxMessage.asks.is_not(None))
        .where(OutboxMessage.created_at <= max(reopened), OutboxMessage.failed_at.is_(None))
    )
    return frozenset(TopicId(str(found["topic"])) for found in asked if found) - ASKED_ANEW


def repaired_lately(
    session: Session, now: datetime, number: str, home: Home | None
) -> Complaint | None:
    """A report of this number or home that a repair has ended lately, and nobody has called right."""
    own = Complaint.number == number
    if home is not None:
        at_home = and_(Complaint.building_id == home[0], Complaint.apartment == home[1])
        on_file = is_page(number) or home in homes_known(session, number)
        own = and_(at_home, or_(own, Complaint.confirmed) if on_file else own)
    found = session.scalars(
        select(Complaint)
        .where(own, Complaint.outcome == "fixed", Complaint.closed_at > now - REMEMBERED)
        .order_by(Complaint.closed_at.desc(), Complaint.id)
        .limit(1)
    ).first()
    over = found is None or _is_confirmed(session, found) or not is_theirs(session, found)
    return None if over else found


def called_over(
    session: Session, now: datetime, number: str, home: Home | None
) -> Complaint | None:
    """The report of this number that it has itself called over lately, if that is its last one.

    So is one that a repair has ended, once the household has said that it is right.
    """
    query = select(Complaint).where(Complaint.number == number)
    if home is not None:
        query = query.where(Complaint.building_id == home[0], Complaint.apartment == home[1])
    found = session.scalars(
        query.where(Complaint.closed_at.is_not(None))
        .order_by(Complaint.closed_at.desc(), Complaint.id)
        .limit(1)
    ).first()
    if found is None or found.closed_at is None or found.closed_at <= now - OVER:
        return None
    if not is_theirs(session, found):
        return None
    is_over = found.outcome in CALLED_OVER or (
        found.outcome == "fixed" and _is_confirmed(session, found)
    )
    return found if is_over else None


def reopened_at(session: Session, complaint: Complaint) -> tuple[datetime, ...]:
    """When a repair of it turned out not to have helped, each time."""
    if complaint.ticket_id is None:
        return ()
    events = session.scalars(
        select(TicketEvent).where(
            TicketEvent.ticket_id == complaint.ticket_id, TicketEvent.what == "reopened"
        )
    )
    return tuple(event.at for event in events if event.body.get("complaint") == complaint.id)


def waiting_for_proof(session: Session, now: datetime, building_id: str) -> frozenset[str]:
    """Homes with a report that a repair has just ended, and that have not said whether it helped."""
    ended = session.scalars(
        select(Complaint)
        .where(Complaint.building_id == building_id, Complaint.outcome == "fixed")
        .where(Complaint.closed_at > now - PROOF_TAKES)
    )
    return frozenset(str(c.apartment) for c in ended if waits_for_proof(session, now, c))


def waits_for_proof(session: Session, now: datetime, complaint: Complaint) -> bool:
    """Whether a repair has just ended a report, and nobody has said whether it helped."""
    closed_at = complaint.closed_at
    if closed_at is None or closed_at <= now - PROOF_TAKES or complaint.outcome != "fixed":
        return False
    return not _is_confirmed(session, complaint)


def confirm_repair(session: Session, now: datetime, complaint: Complaint) -> None:
    """The household says that it is right after the repair; it is not asked any more."""
    if complaint.ticket_id is not None:
        record_event(session, now, complaint.ticket_id, "confirmed", {"complaint": complaint.id})
    session.execute(
        update(TimerRow)
        .where(TimerRow.complaint_id == complaint.id, TimerRow.purpose == "repair_check")
        .where(TimerRow.done_at.is_(None))
        .values(done_at=now)
    )


def _is_confirmed(session: Session, complaint: Complaint) -> bool:
    """Whether the household has said after the repair that it is right."""
    return any(
        event.body.get("complaint") == complaint.id
        for event in session.scalars(
            select(TicketEvent)
            .where(TicketEvent.ticket_id == complaint.ticket_id, TicketEvent.what == "confirmed")
            .where(TicketEvent.at >= complaint.closed_at)
        )
    )


def _asked_by_others(session: Session, complaint: Complaint, number: str) -> Iterator[TopicId]:
    """Topics put to other numbers about a report since it is open."""
    since = _open_since(session, complaint)
    asked = session.execute(
        select(OutboxMessage.asks)
        .where(OutboxMessage.complaint_id == complaint.id, OutboxMessage.to_number != number)
        .where(OutboxMessage.created_at >= since, OutboxMessage.failed_at.is_(None))
        .order_by(OutboxMessage.id)
    )
    checks = session.execute(
        select(TimerRow.body)
        .where(TimerRow.complaint_id == complaint.id, TimerRow.number != number)
        .where(TimerRow.purpose == "check", TimerRow.due_at >= since)
        .order_by(TimerRow.id)
    )
    for (found,) in (*asked, *checks):
        topic = str((found or {}).get("topic", ""))
        if topic.startswith("q_"):
            yield TopicId(topic)


def _open_since(session: Session, complaint: Complaint) -> datetime:
    """When it was opened, or opened again for the last time."""
    return max((complaint.opened_at, *reopened_at(session, complaint)))
