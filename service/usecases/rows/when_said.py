"""When a text was written, as far as its stamp can be believed.

Theory of operation
-------------------
Carriers hold texts back, some for a night. What such a text says ("58 in here") is true of when it was
written; what we owe for it (an answer, quiet at night, a time to act by) counts from when it came. A
stamp that cannot be right is left alone, with the reason: the text then counts as written when it came.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from service.store.tables import InboxMessage

__all__ = ["OLDEST", "SKEW", "Said", "when_said"]

# How far clocks of gateways go wrong, and for how long carriers keep a text for a phone that is off
# (common practice, no source).
SKEW = timedelta(minutes=2)
OLDEST = timedelta(days=2)

LATER = "its time of writing lies after its arrival"
TOO_OLD = "its time of writing lies too far back"
AGAIN = "an earlier text of this number bears the same time of writing"


@dataclass(frozen=True, slots=True)
class Said:
    """When a text was written and when it came; ``doubt`` says why its stamp was not taken."""

    at: datetime
    came_at: datetime
    doubt: str = ""

    @property
    def is_late(self) -> bool:
        """Whether it was on its way for longer than clocks differ."""
        return self.is_before(self.came_at)

    def is_before(self, then: datetime) -> bool:
        """Whether it was written before something happened here, by more than clocks differ."""
        return self.at < then - SKEW


def when_said(session: Session, message: InboxMessage) -> Said:
    """When the words of a text were written."""
    sent_at, came_at = message.sent_at, message.received_at
    if sent_at is None:
        return Said(came_at, came_at)
    if sent_at > came_at:
        return Said(came_at, came_at, LATER if sent_at > came_at + SKEW else "")
    said = Said(sent_at, came_at)
    if came_at - sent_at > OLDEST:
        return Said(came_at, came_at, TOO_OLD)
    if said.is_late and _is_repeated(session, message):
        return Said(came_at, came_at, AGAIN)
    return said


def _is_repeated(session: Session, message: InboxMessage) -> bool:
    """Whether a text that came well before this one bears its stamp: a clock that stands, or none."""
    earlier = (
        select(func.count())
        .select_from(InboxMessage)
        .where(InboxMessage.from_number == message.from_number, InboxMessage.seq < message.seq)
        .where(InboxMessage.sent_at == message.sent_at)
        .where(InboxMessage.received_at < message.received_at - SKEW)
    )
    return bool(session.scalar(earlier))
