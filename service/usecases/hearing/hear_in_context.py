"""What a text means only together with the report that it belongs to."""

from __future__ import annotations

from dataclasses import replace

from rules.asking.conversation import Heard
from rules.asking.danger_meant import danger_meant, is_denied
from rules.asking.questions import questions
from rules.asking.short_words import (
    asks_when,
    is_of_access,
    is_of_cold_water,
    is_of_others,
    is_plea,
)
from rules.model import Kind, TopicId
from rules.reading import Answer
from service.usecases.hearing.turn import Turn

__all__ = ["hear_in_context"]

# What somebody wants to stop who writes "stop it".
STOPPABLE = frozenset({Kind.NOISE.value, Kind.LEAK.value, Kind.TOO_HOT.value})

# A first report that also asks when somebody comes, or thanks, is greeted like any other.
_BESIDE = frozenset({Heard.STATUS, Heard.THANKS, Heard.SLIP})
_MAY_BE_ACCESS = frozenset({Heard.COMPLAINT, Heard.OTHER, Heard.THANKS, Heard.STATUS})
_MAY_DENY = frozenset({Heard.ANSWER, Heard.COMPLAINT, Heard.OTHER, Heard.THANKS})


def hear_in_context(turn: Turn) -> None:
    """Note in the turn what words alone do not tell of a report.

    A danger; a plea for an end of the trouble; that it is the water that is cold; that what works is
    something else than what is reported; how to get in;
    that "when the heat comes on" says when it bangs and does not ask when heat will come.
    """
    complaint = turn.complaint
    if complaint is None or turn.dangers:
        return
    text = turn.message.text or ""
    kinds = [Kind(kind) for kind in complaint.kinds]
    dangers = danger_meant(text, kinds)
    if dangers:
        turn.dangers, turn.event = dangers, Heard.COMPLAINT
    elif turn.event in _MAY_DENY and not turn.reading.kinds and is_denied(text, kinds):
        turn.reading, turn.volunteered = replace(turn.reading, answer=None), ()
        turn.event = Heard.NOTED
    elif turn.reading.answer is None and is_of_cold_water(text, kinds):
        turn.reading = replace(turn.reading, kinds=(), emitter=None)
        turn.volunteered = (Answer(TopicId("q_dhw"), "none"),)
    elif _is_news(turn, text, kinds):
        turn.event = Heard.COMPLAINT
    elif turn.event in _MAY_DENY and asks_when(text):
        turn.event = Heard.STATUS
    elif turn.event in _MAY_BE_ACCESS and _is_access(turn, text):
        turn.event = Heard.NOTED
    elif turn.opened and turn.event in _BESIDE:
        turn.event = Heard.COMPLAINT
    elif is_plea(text) and not STOPPABLE.isdisjoint(complaint.kinds):
        turn.event = Heard.PLEA


def _is_news(turn: Turn, text: str, kinds: list[Kind]) -> bool:
    """Whether what sounds like an end or a question tells more of what the report is about."""
    if turn.event is Heard.RESOLVED:
        return is_of_others(text, kinds)
    told = any(not questions()[a.topic].told_with.isdisjoint(kinds) for a in turn.volunteered)
    return turn.event is Heard.STATUS and told and "?" not in text


def _is_access(turn: Turn, text: str) -> bool:
    """Whether it tells how to get in, and nothing of the home."""
    return not turn.reading.kinds and "?" not in text and is_of_access(text)
