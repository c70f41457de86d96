"""How to get in and when, as the households of a ticket have written it."""

from __future__ import annotations

import re
from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.asking.short_words import is_of_access
from service.store.tables import Complaint, InboxMessage
from service.usecases.rows.views import AccessTold

__all__ = ["access_told"]

_SENTENCES = re.compile(r"[^.!?\n]+[.!?]?")
_LONGEST = 160  # characters of a sentence
_MOST = 3  # sentences of a home: its last words count


def access_told(session: Session, complaints: Sequence[Complaint]) -> tuple[AccessTold, ...]:
    """Sentences on getting in, a home after another, oldest first."""
    homes = {c.id: c.apartment or "" for c in complaints}
    rows = session.scalars(
        select(InboxMessage)
        .where(InboxMessage.complaint_id.in_(homes))
        .order_by(InboxMessage.received_at, InboxMessage.seq)
    )
    told: dict[str, list[AccessTold]] = {}
    for row in rows:
        home, language = homes[row.complaint_id or ""], (row.reading or {}).get("language")
        for said in map(str.strip, _SENTENCES.findall(row.text or "")):
            if is_of_access(said):
                told.setdefault(home, []).append(AccessTold(home, said[:_LONGEST], language))
    return tuple(line for home in sorted(told) for line in told[home][-_MOST:])
