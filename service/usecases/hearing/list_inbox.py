"""Every stored inbound text, in order of arrival, a page at a time, with the senders' whole numbers.

Who delivers texts checks by them that none was lost, so they stand here; the audit log says which
program has read them, once an hour.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.auth.who import Who
from service.errors import InvalidError, PointedError
from service.store.tables import AuditRow, InboxMessage
from service.usecases.loading.page_names import VIA_CALL, VIA_PAGE
from service.usecases.rows.audit import note_act

__all__ = ["list_inbox", "note_reading", "reading_is_noted"]

ACT = "numbers listed"
NOTED_FOR = timedelta(hours=1)

LARGEST_CURSOR = 2**62


def list_inbox(session: Session, after: str | None, limit: int) -> dict[str, Any]:
    """The texts after a cursor, and the cursor for the next page (None at the end).

    Raises:
        InvalidError: the cursor is none of ours.
    """
    rows = list(
        session.scalars(
            select(InboxMessage)
            .where(InboxMessage.seq > _position(after))
            .order_by(InboxMessage.seq)
            .limit(limit + 1)
        )
    )
    shown = rows[:limit]
    return {
        "messages": [
            {
                "id": row.sender_id,
                "from": row.from_number,
                "via": _door_of(row.via),
                "received_at": row.received_at.isoformat(),
                "state": row.state,
                "complaint": row.complaint_id,
                "message": row.id,
            }
            for row in shown
        ],
        "next": str(shown[-1].seq) if len(rows) > limit else None,
    }


def _door_of(via: str) -> str:
    """The door as programs outside know it: what the desk writes down came in through our pages."""
    return VIA_PAGE if via == VIA_CALL else via


def reading_is_noted(session: Session, now: datetime, who: Who) -> bool:
    """Whether it stands in the audit log already that this program reads the inbox."""
    found = session.scalar(
        select(AuditRow.seq)
        .where(AuditRow.account == who.account, AuditRow.act == ACT)
        .where(AuditRow.at > now - NOTED_FOR)
        .limit(1)
    )
    return found is not None


def note_reading(session: Session, now: datetime, who: Who) -> None:
    """Note it."""
    note_act(session, now, who, ACT, "inbox", {})


def _position(after: str | None) -> int:
    if not after:
        return 0
    if after.isascii() and after.isdigit() and len(after) < 20 and int(after) < LARGEST_CURSOR:
        return int(after)
    raise InvalidError("unknown cursor", (PointedError("/after", "take it from `next`"),))
