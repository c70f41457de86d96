"""A person at the desk writes to all households that a ticket concerns."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from service.auth.who import Who
from service.usecases.rows.act_rows import Deed, open_ticket_row, store_act
from service.usecases.rows.services import SmsRules
from service.usecases.sending.broadcast import News, tell_ticket

__all__ = ["write_affected"]


def write_affected(
    session: Session, now: datetime, who: Who, ticket_id: str, news: News, *, sms: SmsRules
) -> dict[str, Any]:
    """Tell them the news, once for each id; returns what became of it.

    Raises:
        NotFoundError: there is no such ticket.
        ConflictError: its home is not known, it is closed, or the id was used for something else.
        InvalidError: the texts are empty or too long.
    """
    answer = tell_ticket(session, now, sms, ticket_id, news)
    if answer["duplicate"]:
        return answer
    deed = Deed(
        "broadcast",
        "news sent",
        f"News sent to {answer['texts']} phone{'' if answer['texts'] == 1 else 's'}",
        noted={"texts": answer["texts"]},
        in_history=False,
    )
    store_act(session, now, who, open_ticket_row(session, ticket_id), deed)
    return answer
