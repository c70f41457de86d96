"""What was said with one household, by the household, the machine and people, in order."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.asking.conversation import Conversation
from service.errors import NotFoundError
from service.store.tables import (
    Building,
    Complaint,
    InboxMessage,
    NumberRow,
    OutboxMessage,
)
from service.usecases.desk.write_household import cannot_write
from service.usecases.home.write_down_call import written_down_by
from service.usecases.rows.act_views import ConversationLine, ConversationView
from service.usecases.rows.ids import reference
from service.usecases.rows.next_timer import next_timer
from service.usecases.rows.pressing import zone_of
from service.usecases.rows.when_said import when_said
from service.usecases.sending.talk import conversation_of

__all__ = ["show_conversation"]

LAST = 2**62  # what no text caused comes after what did, at the same instant


def show_conversation(session: Session, complaint_id: str) -> ConversationView:
    """The conversation about a complaint.

    Raises:
        NotFoundError: there is no such complaint.
    """
    complaint = session.get(Complaint, complaint_id)
    if complaint is None:
        raise NotFoundError("there is no such complaint")
    number = session.get(NumberRow, complaint.number)
    conversation = conversation_of(session, number) if number is not None else Conversation()
    building = session.get(Building, complaint.building_id) if complaint.building_id else None
    timer = next_timer(session, complaint.number)
    return ConversationView(
        complaint=complaint.id,
        apartment=complaint.apartment,
        building_name=str(building.document["name"]) if building is not None else "",
        timezone=zone_of(session, complaint.building_id),
        ticket=complaint.ticket_id,
        reference=reference(complaint.ticket_id) if complaint.ticket_id else "",
        lines=_lines(session, complaint, conversation.language),
        language=conversation.language,
        state=conversation.state.value,
        waiting_for=conversation.current,
        waiting_until=timer.due_at if timer is not None else None,
        taken_over_by=complaint.taken_over_by if complaint.closed_at is None else None,
        is_open=complaint.closed_at is None,
        cannot_write=cannot_write(session, complaint)
        if complaint.closed_at is None
        else "the complaint has ended",
    )


def _lines(session: Session, complaint: Complaint, spoken: str) -> tuple[ConversationLine, ...]:
    """With a standing clock much happens at one instant: an answer stands behind what it answers."""
    inbound = session.scalars(
        select(InboxMessage).where(InboxMessage.complaint_id == complaint.id)
    ).all()
    outbound = session.scalars(
        select(OutboxMessage).where(
            (OutboxMessage.complaint_id == complaint.id)
            | OutboxMessage.message_id.in_([m.id for m in inbound])
        )
    ).all()
    turn = {m.id: m.seq for m in inbound}
    lines: list[tuple[tuple[Any, ...], ConversationLine]] = [
        (
            (m.received_at, m.seq, 0),
            _heard(session, m),
        )
        for m in inbound
    ]
    lines += [
        (
            (m.send_at, turn.get(m.message_id or "", LAST), m.id),
            ConversationLine(
                m.sent_at or m.send_at,
                "person" if m.written_by else "machine",
                m.text,
                None if m.written_by else spoken,
                name=m.written_by,
                waits=m.sent_at is None and m.failed_at is None,
                failed=m.failed_at is not None,
            ),
        )
        for m in outbound
    ]
    return tuple(line for _, line in sorted(lines, key=lambda pair: pair[0]))


def _heard(session: Session, message: InboxMessage) -> ConversationLine:
    said = when_said(session, message)
    return ConversationLine(
        message.received_at,
        "tenant",
        message.text or "",
        _language(message),
        name=written_down_by(message),
        written_at=said.at if said.is_late else None,
    )


def _language(message: InboxMessage) -> str | None:
    """The language a text was read in; a bare number has none."""
    found = (message.reading or {}).get("language")
    return found if found in {"en", "es"} and any(c.isalpha() for c in message.text or "") else None
