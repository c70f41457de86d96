"""Every stored inbound text, in order of arrival, a page at a time."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.errors import InvalidError, PointedError
from service.store.tables import InboxMessage

__all__ = ["list_inbox"]

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
                "via": row.via,
                "received_at": row.received_at.isoformat(),
                "state": row.state,
                "complaint": row.complaint_id,
                "message": row.id,
            }
            for row in shown
        ],
        "next": str(shown[-1].seq) if len(rows) > limit else None,
    }


def _position(after: str | None) -> int:
    if not after:
        return 0
    if after.isascii() and after.isdigit() and len(after) < 20 and int(after) < LARGEST_CURSOR:
        return int(after)
    raise InvalidError("unknown cursor", (PointedError("/after", "take it from `next`"),))
