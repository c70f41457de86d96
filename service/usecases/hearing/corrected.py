""" "Wait, I meant 3": the answer before the question that is out, put right."""

from __future__ import annotations

from rules.asking.conversation import Heard, taken_back
from rules.asking.questions import UNKNOWN
from rules.asking.short_words import put_right
from rules.reading import read
from service.usecases.hearing.turn import Turn
from service.usecases.hearing.which_event import BY_INTENT
from service.usecases.rows.facts import TEMPERATURES

__all__ = ["hear_correction"]

MAY_CORRECT = frozenset({Heard.COMPLAINT, Heard.OTHER, Heard.THANKS})


def hear_correction(turn: Turn) -> None:
    """Note in the turn what it puts right; the question that is out stays out."""
    said, topic = put_right(turn.message.text or ""), taken_back(turn.conversation)
    if not said or topic is None or topic in TEMPERATURES:
        return
    if turn.dangers or turn.reading.answer is not None or turn.reading.intent in BY_INTENT:
        return
    meant = read(said, topic).answer
    if turn.event not in MAY_CORRECT or meant is None or meant.means == UNKNOWN:
        return
    others = (answer for answer in turn.volunteered if answer.topic != topic)
    turn.event, turn.corrected, turn.volunteered = Heard.COMPLAINT, topic, (*others, meant)
