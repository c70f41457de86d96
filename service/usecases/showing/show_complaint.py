"""A complaint: what was said, what is known from it, what is waited for, and its ticket."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.asking.conversation import Conversation, State
from service.errors import NotFoundError
from service.store.tables import (
    Complaint,
    FactRow,
    InboxMessage,
    NumberRow,
    OutboxMessage,
)
from service.usecases.desk.write_household import phone_of
from service.usecases.rows.next_timer import next_timer
from service.usecases.rows.when_said import Said, when_said
from service.usecases.staff.reveal_number import ends_in

__all__ = ["show_complaint"]

LAST = 2**62  # what no text caused (a timer) comes after what did, at the same instant


def show_complaint(session: Session, complaint_id: str) -> dict[str, Any]:
    """A complaint in the form the API shows it.

    Raises:
        NotFoundError: there is no such complaint.
    """
    complaint = session.get(Complaint, complaint_id)
    if complaint is None:
        raise NotFoundError("there is no such complaint")
    return {
        "id": complaint.id,
        "building": complaint.building_id,
        "apartment": complaint.apartment,
        "from": ends_in(phone_of(session, complaint)) or None,
        "confirmed": complaint.confirmed,
        "state": "open" if complaint.closed_at is None else "closed",
        "opened_at": complaint.opened_at.isoformat(),
        "closed_at": complaint.closed_at.isoformat() if complaint.closed_at else None,
        "outcome": complaint.outcome,
        "kinds": complaint.kinds,
        "care": complaint.care,
        "danger": bool(complaint.danger),
        "ticket": complaint.ticket_id,
        "pinned": complaint.pinned,
        "taken_over_by": complaint.taken_over_by,
        "messages": _messages(session, complaint),
        "facts": _facts(session, complaint),
        "waiting": _waiting(session, complaint),
    }


def _messages(session: Session, complaint: Complaint) -> list[dict[str, Any]]:
    """Both directions, in order."""
    inbound = session.scalars(
        select(InboxMessage).where(InboxMessage.complaint_id == complaint.id)
    ).all()
    ids = [m.id for m in inbound]
    outbound = session.scalars(
        select(OutboxMessage).where(
            (OutboxMessage.complaint_id == complaint.id) | OutboxMessage.message_id.in_(ids)
        )
    ).all()
    said = [_inbound(m, when_said(session, m)) for m in inbound]
    answered = [
        {
            "direction": "out",
            "id": f"o_{m.id}",
            "at": m.send_at.isoformat(),
            "text": m.text,
            "asks": m.asks,
            "sent_at": m.sent_at.isoformat() if m.sent_at else None,
        }
        for m in outbound
    ]
    # With a standing clock much happens at one instant: what answers a text stands behind it, and
    # both before the next text.
    turn = {m.id: m.seq for m in inbound}
    lines = [((m.received_at, m.seq, 0), line) for m, line in zip(inbound, said, strict=True)]
    lines += [
        ((m.send_at, turn.get(m.message_id or "", LAST), m.id), line)
        for m, line in zip(outbound, answered, strict=True)
    ]
    return [line for _, line in sorted(lines, key=lambda pair: pair[0])]


def _inbound(message: InboxMessage, said: Said) -> dict[str, Any]:
    """A text with when it came, and when it was written; why not, if its stamp is not believed."""
    return {
        "direction": "in",
        "id": message.id,
        "at": message.received_at.isoformat(),
        "said_at": said.at.isoformat(),
        "said_at_doubt": said.doubt or None,
        "text": message.text,
        "reading": message.reading,
    }


def _facts(session: Session, complaint: Complaint) -> list[dict[str, Any]]:
    rows = session.scalars(
        select(FactRow).where(FactRow.complaint_id == complaint.id).order_by(FactRow.id)
    )
    return [
        {
            **row.body,
            "at": row.at.isoformat(),
            "source": row.source,
            "counts": row.withdrawn_at is None,
        }
        for row in rows
    ]


def _waiting(session: Session, complaint: Complaint) -> dict[str, Any] | None:
    """What the conversation waits for, and until when."""
    timer = next_timer(session, complaint.number)
    number = session.get(NumberRow, complaint.number)
    if number is None or number.conversation is None:
        return None
    conversation = Conversation.from_dict(number.conversation)
    if timer is None and (conversation.current is None or conversation.state is State.CLOSED):
        return None
    return {
        "for": conversation.current,
        "state": conversation.state.value,
        "until": timer.due_at.isoformat() if timer is not None else None,
        "then": timer.purpose if timer is not None else None,
    }
