"""What it means that a person writes with a household in place of the machine.

While it lasts the machine asks nothing and reminds of nothing. What the household writes is stored,
read as evidence and handed on to the person; a danger is answered at once as ever, and so are the
words that always work.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from rules.asking.conversation import Heard
from service.store.tables import Alert, Complaint
from service.usecases.rows.alerts import raise_alert
from service.usecases.rows.ticket_rows import record_event

__all__ = ["hand_on", "is_persons"]

# Whether texts are wanted at all is between the household and its phone company's rules.
ALWAYS = frozenset({Heard.STOP, Heard.START, Heard.HELP})
WROTE = "wrote to a person"


def is_persons(complaint: Complaint | None, event: Heard | None = None) -> bool:
    """Whether a person answers in place of the machine."""
    if complaint is None or complaint.taken_over_by is None or complaint.closed_at is not None:
        return False
    return event not in ALWAYS


def hand_on(session: Session, now: datetime, complaint: Complaint, message_id: str) -> None:
    """Tell the desk that the household has written, once until somebody has seen it."""
    unseen = select(func.count()).where(
        Alert.what == WROTE, Alert.complaint_id == complaint.id, Alert.acknowledged_at.is_(None)
    )
    if not session.scalar(unseen):
        raise_alert(session, now, WROTE, message_id, complaint_id=complaint.id)
    if complaint.ticket_id is not None:
        body = {"complaint": complaint.id, "message": message_id, "why": WROTE}
        record_event(session, now, complaint.ticket_id, "person", body)
