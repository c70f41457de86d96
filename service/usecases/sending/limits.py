"""How much is too much: texts from one number, to unknown numbers, and in all.

Everything is counted in rows, so that it holds after a restart and for several copies of the
service. Safety is never limited: who asks here has looked at danger before.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from rules.asking.conversation import RIGHT_NOW, Conversation, State
from service.store.tables import InboxMessage, NumberRow, OutboxMessage
from service.usecases.loading.page_names import is_page
from service.usecases.rows.alerts import raise_once
from service.usecases.rows.quiet_hours import MOST_AT_ONCE

__all__ = ["HOUR", "is_flood", "may_answer_stranger", "own_accord_times", "texts_left"]

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
# Common practice, no source: nobody writes more in earnest; all of it is read, no more is answered.
MOST_ANSWERED = 30
ALARM_AT = 0.8
HOME_COUNTRY = "+1"

_IN_EXCHANGE = frozenset(
    {
        State.PLACE,
        State.WHICH,
        State.WHAT,
        State.ASKING,
        State.WAITING,
        State.READ_BACK,
        State.REPAIRED,
    }
)


def is_flood(session: Session, message: InboxMessage) -> bool:
    """Whether a number has sent so much within the hour that it gets no more answers."""
    if is_page(message.from_number):
        return False
    query = (
        select(func.count())
        .select_from(InboxMessage)
        .where(InboxMessage.from_number == message.from_number)
        .where(InboxMessage.received_at > message.received_at - HOUR)
        .where(InboxMessage.seq <= message.seq)
    )
    flood = (session.scalar(query) or 0) > MOST_ANSWERED
    if flood:
        raise_once(session, message.received_at, "many texts from one number", HOUR)
    return flood


def may_answer_stranger(
    session: Session, now: datetime, row: NumberRow, conversation: Conversation
) -> bool:
    """Whether a number that nobody knows gets an answer: in its exchange, then once a day.

    From abroad none does: a household with such a phone is on file.

    An exchange lasts for as long as we wait for an answer, also to what we ask in the morning after a
    repair; the answer of the day may begin one. It is used up by asking here.
    """
    if not row.number.startswith(HOME_COUNTRY):
        raise_once(session, now, "a text from abroad, not answered", DAY)
        return False
    waits = conversation.state in _IN_EXCHANGE or conversation.current == RIGHT_NOW
    if row.conversation is None or waits:
        return True
    if row.spare_reply_at is not None and now - row.spare_reply_at < DAY:
        return False
    row.spare_reply_at = now
    return True


def own_accord_times(session: Session, number: str) -> list[datetime]:
    """When the last texts that answer no text went, or will go, to a number."""
    return list(
        session.scalars(
            select(OutboxMessage.send_at)
            .where(OutboxMessage.to_number == number, OutboxMessage.message_id.is_(None))
            .where(OutboxMessage.failed_at.is_(None), OutboxMessage.urgent.is_(False))
            .order_by(OutboxMessage.send_at.desc())
            .limit(MOST_AT_ONCE)
        )
    )


def texts_left(session: Session, now: datetime, most_an_hour: int) -> int:
    """How many more texts may be sent within this hour; tells the desk when they run out."""
    query = (
        select(func.count())
        .select_from(OutboxMessage)
        # What is read on a page was never handed to a gateway.
        .where(OutboxMessage.sent_at > now - HOUR, OutboxMessage.attempts > 0)
    )
    sent = session.scalar(query) or 0
    if sent >= most_an_hour:
        raise_once(session, now, "texts are held back: the limit of the hour is reached", HOUR)
    elif sent >= ALARM_AT * most_an_hour:
        raise_once(session, now, "80 % of the texts of the hour are used", HOUR)
    return max(most_an_hour - sent, 0)
