"""What is written after a technician has closed a report and before its household is asked of the work.

Theory of operation
-------------------
Then "is it right now?" is as good as asked, and "yes" and "no" are about it. Not so for whoever has not
been told of any work, and not for an answer to the question that was out at the closing: "no they are
ok" is of the neighbors. A choice alone may be either's and counts as neither; the morning's question
comes anyway. What names a trouble is a no, whoever writes it.
"""

from __future__ import annotations

from dataclasses import replace

from rules.asking.conversation import RIGHT_NOW, Conversation, Heard, State
from rules.asking.short_words import plain, works_now
from rules.reading import Reading, read
from service.usecases.hearing.turn import Turn

__all__ = ["hear_left"]

_MAY_ANSWER = frozenset(
    {Heard.ANSWER, Heard.COMPLAINT, Heard.OTHER, Heard.RESOLVED, Heard.UNREADABLE}
)


def hear_left(turn: Turn) -> None:
    """Note in the turn that it says nothing of the work, where it does not."""
    c, text = turn.conversation, turn.message.text or ""
    if c.current != RIGHT_NOW or c.state is not State.CLOSED or turn.dangers:
        return
    if turn.event not in _MAY_ANSWER or "?" in text:
        return
    alone = read(text)
    if _answers_what_was_left(text, alone, c) or _knows_of_none(turn, alone):
        kept = replace(alone, kinds=(), emitter=None, rooms=None, answer=None)
        turn.event, turn.reading, turn.volunteered = Heard.NOTED, kept, ()


def _answers_what_was_left(text: str, alone: Reading, c: Conversation) -> bool:
    """Whether it answers the question that was out at the closing, in words or by a choice."""
    if c.left is None or works_now(text):
        return False
    names_trouble = bool(alone.kinds) and (c.told_of_work or len(plain(text).split()) > 1)
    return not names_trouble and read(text, c.left).answer is not None


def _knows_of_none(turn: Turn, alone: Reading) -> bool:
    """Whether what would be a yes or no comes from somebody who does not know of any work."""
    judges = turn.event is Heard.ANSWER and not alone.kinds
    return judges and not turn.conversation.told_of_work
