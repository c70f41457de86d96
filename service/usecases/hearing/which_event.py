"""Which event of the conversation a text is."""

from __future__ import annotations

import re
from typing import Literal

from rules.asking.conversation import HOMES, PLACE, RIGHT_NOW, Conversation, Heard, State
from rules.asking.for_another import has_moved_out
from rules.asking.short_words import (
    is_away,
    is_call,
    is_first_dust,
    is_of_texting,
    is_puzzled,
    is_slip,
    is_stopped_heat,
    is_thanks,
    is_thumbs_up,
    plain,
    says_it_is_well,
    takes_back,
    wants_no_questions,
)
from rules.asking.troubles import goes_on
from rules.model import Intent, Kind
from rules.reading import Answer, Reading

__all__ = ["BY_INTENT", "event_of", "language_asked_for"]

_DIGIT = re.compile(r"\d")
LONGEST_START = 3  # words of a keyword that asks for texts again
_NOT_CALLS = frozenset({"only", "solo", "nomas"})  # "text only please" wants no calls

BY_INTENT = {
    Intent.STOP: Heard.STOP,
    Intent.START: Heard.START,
    Intent.HELP: Heard.HELP,
    Intent.WANT_HUMAN: Heard.HUMAN,
    Intent.CANCEL: Heard.CANCEL,
    Intent.STATUS_QUESTION: Heard.STATUS,
    Intent.RESOLVED: Heard.RESOLVED,
}

# Where the next word is ours.
_WAITS_FOR_US = frozenset({State.WAITING, State.TOLD, State.PERSON, State.CLOSED})


def event_of(
    text: str,
    reading: Reading,
    conversation: Conversation,
    *,
    danger: bool,
    homes: tuple[tuple[str, str], ...],
    code: str | None = None,
    tells: tuple[Answer, ...] = (),
    beside: Heard | None = None,
) -> Heard:
    """The event a text stands for; danger in a text is a complaint whatever else it says.

    ``tells`` is what it answers unasked; ``beside`` is FOR_ANOTHER if it is about another home alone,
    ASIDE if it asks or tells in passing what has an answer of its own.
    """
    asked = conversation.current is not None
    # "Stop asking me" is about our questions, "stop texting me questions" about our texts.
    of_questions = asked and wants_no_questions(text) and not is_of_texting(text)
    in_order = (
        (reading.intent is Intent.STOP and not of_questions, Heard.STOP),
        (danger, Heard.COMPLAINT),
        (code is not None, Heard.CODE),
        (language_asked_for(reading) is not None, Heard.LANGUAGE),
        (takes_back(text), Heard.BACK),
        (beside is Heard.ASIDE and _tells_nothing_else(reading, tells), Heard.ASIDE),
        (asked and (of_questions or wants_no_questions(text)), Heard.HUMAN),
        (asked and is_puzzled(text), Heard.OTHER),
        (_answers(text, reading, conversation, homes), Heard.ANSWER),
        (beside is Heard.FOR_ANOTHER, beside),
        (not asked and set(reading.kinds) <= {Kind.OTHER} and is_first_dust(text), Heard.DUST),
        (not reading.kinds and not tells and has_moved_out(text), Heard.MOVED),
        (_is_not_over(text, reading, tells), Heard.COMPLAINT),
        (_wants(text, reading, conversation), BY_INTENT.get(reading.intent)),
    )
    found = next((event for holds, event in in_order if holds), None)
    return found or _rest(text, reading, conversation, tells=bool(tells))


def _wants(text: str, reading: Reading, conversation: Conversation) -> bool:
    """Whether it wants something by itself; nobody who gets our texts asks for them in many words."""
    starts = reading.intent is Intent.START and conversation.state is not State.STOPPED
    words = plain(text).split()
    if starts and (len(words) > LONGEST_START or not _NOT_CALLS.isdisjoint(words)):
        return False
    return reading.intent in BY_INTENT


def _is_not_over(text: str, reading: Reading, tells: tuple[Answer, ...]) -> bool:
    """Whether what sounds like an end is none: "apartment 5 has the same problem", "set to heat now"."""
    if reading.intent is not Intent.RESOLVED:
        return False
    if is_stopped_heat(text):
        return True
    return not says_it_is_well(text) and goes_on((a.topic, a.means) for a in tells)


def language_asked_for(reading: Reading) -> Literal["en", "es"] | None:
    """The language a text asks us to write in."""
    if reading.language_wish is None:
        return None
    return "es" if reading.language_wish == "es" else "en"


def _answers(
    text: str, reading: Reading, conversation: Conversation, homes: tuple[tuple[str, str], ...]
) -> bool:
    if conversation.current in {PLACE, HOMES}:
        if len(homes) == 1:
            return reading.intent not in BY_INTENT
        later = not _DIGIT.search(text) and (is_thanks(text) or is_away(text))  # no place is "ok"
        return reading.answer is not None and not _tells(reading) and not later
    return reading.answer is not None and conversation.current is not None


def _tells(reading: Reading) -> bool:
    """Whether it says more of the trouble than a number, which may be a house or a door."""
    return bool(reading.kinds) or (reading.room_temp is not None and not reading.bare)


def _rest(text: str, reading: Reading, conversation: Conversation, *, tells: bool) -> Heard:
    if reading.intent is Intent.COMPLAINT or reading.kinds:
        return Heard.COMPLAINT
    if not plain(text):
        return _wordless(text, conversation)
    if conversation.state in {State.ASKING, State.PLACE, State.REPAIRED} and is_away(text):
        return Heard.THANKS  # the answer is wanted when they are back
    if is_slip(text):
        return Heard.SLIP
    if tells and conversation.state is not State.NEW:
        return Heard.COMPLAINT
    if _states(reading, conversation):
        return Heard.COMPLAINT
    return _small_talk(text, conversation)


def _small_talk(text: str, conversation: Conversation) -> Heard:
    """Thanks, or "hello?" of somebody who waits for our next word."""
    if is_call(text) and conversation.state in _WAITS_FOR_US:
        return Heard.STATUS
    return Heard.THANKS if is_thanks(text) else Heard.OTHER


def _tells_nothing_else(reading: Reading, tells: tuple[Answer, ...]) -> bool:
    """Whether what is asked in passing is all there is to a text."""
    if reading.kinds or reading.answer is not None or tells or reading.oven_in_use:
        return False
    told = reading.room_temp is not None or reading.setpoint is not None
    return not told and reading.intent not in {Intent.WANT_HUMAN, Intent.RESOLVED, Intent.STOP}


def _wordless(text: str, conversation: Conversation) -> Heard:
    """Signs, or "???", which from somebody who is waiting asks after the report."""
    if is_thumbs_up(text):
        return Heard.THANKS
    idle = conversation.current is None or conversation.state in {State.WAITING, State.CLOSED}
    return Heard.STATUS if "?" in text and idle else Heard.UNREADABLE


def _states(reading: Reading, conversation: Conversation) -> bool:
    """Whether it tells a fact of the home; after a repair how warm it is does not say if it is right."""
    told = (reading.emitter, reading.window_open, reading.thermostat_blank, reading.rooms)
    numbers = () if conversation.current == RIGHT_NOW else (reading.room_temp, reading.setpoint)
    return any(fact is not None for fact in (*told, *numbers))
