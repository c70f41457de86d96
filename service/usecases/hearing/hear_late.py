"""What a text says that was long on its way: to what it is an answer, and what has overtaken it.

Theory of operation
-------------------
An answer belongs to the question that was out when it was written. Where that is not the one that is
out now, it is taken as said unasked about the earlier one, and what is out stays out. A choice alone
("1") that was written when nothing was out is no such thing: then the stamp is wrong, and it answers
what is asked now. What has been overtaken ("it works now" of the night, and cold again in the
morning; "still cold", and repaired since) ends nothing and opens nothing again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import takewhile

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from rules.asking.conversation import RIGHT_NOW, Conversation, Heard, State
from rules.asking.questions import UNKNOWN, questions
from rules.model import TopicId
from rules.reading import Answer, Reading
from service.store.tables import Complaint, InboxMessage, OutboxMessage
from service.usecases.hearing.read_text import read_in_talk
from service.usecases.hearing.turn import Turn
from service.usecases.rows.complaint_rows import facts_of
from service.usecases.rows.facts import TEMPERATURES
from service.usecases.rows.when_said import Said, when_said

__all__ = ["Late", "let_newer_stand", "read_as_of", "says_nothing_now"]

ANSWERS_LATER = "it answers what was asked after its time of writing"
MOST_TEXTS = 30  # far more than go to a phone while a text is on its way

_NOTHING_NEW = frozenset(
    {
        Heard.COMPLAINT,
        Heard.ANSWER,
        Heard.OTHER,
        Heard.UNREADABLE,
        Heard.THANKS,
        Heard.PLEA,
        Heard.ASIDE,
        Heard.SLIP,
        Heard.NOTED,
        Heard.BACK,
    }
)


@dataclass(frozen=True, slots=True)
class Late:
    """A text as of when it was written.

    ``is_earlier``: before what is asked now. ``unasked``: its answer to what was asked before that.
    """

    reading: Reading
    said: Said
    is_earlier: bool = False
    unasked: tuple[Answer, ...] = ()


@dataclass(frozen=True, slots=True)
class _Sent:
    """A text of ours to a phone: when it went, and what it asks, if anything."""

    at: datetime
    asks: TopicId | None


def read_as_of(session: Session, message: InboxMessage, conversation: Conversation) -> Late:
    """What a text says to what was out when it was written."""
    text, said = message.text or "", when_said(session, message)
    reading = read_in_talk(text, conversation)
    if not said.is_late or conversation.current is None:
        return Late(reading, said)
    sent = _sent_to(session, message.from_number)
    since = _out_since(session, message.from_number, conversation, sent)
    if since is None or not said.is_before(since):
        return Late(reading, said)
    before = [one for one in sent if not said.is_before(one.at)]
    if reading.answer is not None and reading.bare and not any(one.asks for one in before):
        return Late(reading, Said(said.came_at, said.came_at, ANSWERS_LATER))
    then = before[0].asks if before else None
    reading = read_in_talk(text, replace(conversation, current=then, state=State.ASKING))
    answer = reading.answer
    unasked = (answer,) if answer is not None and _is_fact(answer) else ()
    return Late(replace(reading, answer=None), said, is_earlier=True, unasked=unasked)


def let_newer_stand(turn: Turn) -> None:
    """Nobody who has told of trouble since ends it by what was written before and came after."""
    if turn.event not in {Heard.RESOLVED, Heard.CANCEL} or turn.complaint is None:
        return
    if any(turn.said.is_before(row.at) for row in facts_of(turn.session, turn.complaint)):
        turn.event, turn.is_earlier = Heard.OTHER, True


def says_nothing_now(turn: Turn) -> bool:
    """Whether a text from before what is asked now needs no answer: it tells no news."""
    news = turn.told_more or bool(turn.new_kinds) or turn.opened
    return turn.event in _NOTHING_NEW and not news


def _is_fact(answer: Answer) -> bool:
    known = answer.topic in questions() and answer.topic not in TEMPERATURES
    return known and answer.means != UNKNOWN


def _sent_to(session: Session, number: str) -> Sequence[_Sent]:
    """What went to a phone, the last first."""
    rows = session.execute(
        select(OutboxMessage.asks, OutboxMessage.sent_at, OutboxMessage.created_at)
        .where(OutboxMessage.to_number == number, OutboxMessage.failed_at.is_(None))
        .order_by(OutboxMessage.id.desc())
        .limit(MOST_TEXTS)
    )
    return [
        _Sent(sent_at or made_at, TopicId(str(asks["topic"])) if asks else None)
        for asks, sent_at, made_at in rows
    ]


def _out_since(
    session: Session, number: str, conversation: Conversation, sent: Sequence[_Sent]
) -> datetime | None:
    """Since when what is out now has been out, if it was put in a question; put again it is the same."""
    if conversation.current == RIGHT_NOW:
        own = Complaint.number == number
        if conversation.home is not None:
            building, apartment = conversation.home
            at_home = (Complaint.building_id == building) & (Complaint.apartment == apartment)
            own = or_(own, at_home)
        repaired = select(func.max(Complaint.closed_at)).where(own, Complaint.outcome == "fixed")
        return session.scalar(repaired)
    questions_put = (one for one in sent if one.asks is not None)
    put = list(takewhile(lambda one: one.asks == conversation.current, questions_put))
    return put[-1].at if put else None
