"""Which event of the conversation a text is."""

from __future__ import annotations

import re
import unicodedata
from typing import Literal

from rules.asking.conversation import HOMES, PLACE, Conversation, Heard, State
from rules.model import Intent
from rules.reading import Reading

__all__ = ["BY_INTENT", "event_of", "in_crisis", "language_asked_for"]

BY_INTENT = {
    Intent.STOP: Heard.STOP,
    Intent.START: Heard.START,
    Intent.HELP: Heard.HELP,
    Intent.WANT_HUMAN: Heard.HUMAN,
    Intent.CANCEL: Heard.CANCEL,
    Intent.STATUS_QUESTION: Heard.STATUS,
    Intent.RESOLVED: Heard.RESOLVED,
}
BACK = frozenset(
    {
        "back",
        "go back",
        "undo",
        "undo that",
        "atras",
        "volver",
        "regresar",
        "deshacer",
        "para atras",
    }
)
THANKS = re.compile(r"\b(thanks?|thank you|thx|ty|gracias)\b|^(ok|okay|okey|k|vale|bueno)\b")
LONGEST_THANKS = 60
# Somebody who speaks of ending their own life; a manner of speaking is answered too: better once too
# often (common practice, no source).
CRISIS = re.compile(
    r"\b(kill(ing)? myself|end(ing)? (my life|it all)|want to die|wanna die|suicid\w*|hurt(ing)? myself"
    r"|matarme|quitarme la vida|me quiero morir|quiero morir(me)?|hacerme dano|ya no quiero vivir)\b"
)


def event_of(
    text: str,
    reading: Reading,
    conversation: Conversation,
    *,
    danger: bool,
    homes: tuple[tuple[str, str], ...],
    code: str | None = None,
    tells: bool = False,
) -> Heard:
    """The event a text stands for; danger in a text is a complaint whatever else it says.

    ``tells`` says that it answers something that was not asked.
    """
    if reading.intent is Intent.STOP:
        return Heard.STOP
    if danger:
        return Heard.COMPLAINT
    if code is not None:
        return Heard.CODE
    if language_asked_for(reading) is not None:
        return Heard.LANGUAGE
    if _plain(text) in BACK:
        return Heard.BACK
    if _answers(reading, conversation, homes):
        return Heard.ANSWER
    return BY_INTENT.get(reading.intent) or _rest(text, reading, conversation, tells=tells)


def in_crisis(text: str) -> bool:
    """Whether somebody speaks of ending their own life or hurting themselves."""
    return CRISIS.search(_plain(text)) is not None


def language_asked_for(reading: Reading) -> Literal["en", "es"] | None:
    """The language a text asks us to write in."""
    if reading.language_wish is None:
        return None
    return "es" if reading.language_wish == "es" else "en"


def _answers(
    reading: Reading, conversation: Conversation, homes: tuple[tuple[str, str], ...]
) -> bool:
    if conversation.current in {PLACE, HOMES} and len(homes) == 1:
        return reading.intent not in BY_INTENT
    return reading.answer is not None and conversation.current is not None


def _rest(text: str, reading: Reading, conversation: Conversation, *, tells: bool) -> Heard:
    if reading.intent is Intent.COMPLAINT or reading.kinds:
        return Heard.COMPLAINT
    words = _plain(text)
    if not words:
        # "???" from somebody who is waiting asks after the report.
        idle = conversation.current is None or conversation.state is State.WAITING
        wonders = "?" in text and idle
        return Heard.STATUS if wonders else Heard.UNREADABLE
    if tells and conversation.state is not State.NEW:
        return Heard.COMPLAINT
    if len(words) <= LONGEST_THANKS and "?" not in text and THANKS.search(words):
        return Heard.THANKS
    told = (reading.room_temp, reading.setpoint, reading.emitter, reading.window_open)
    if any(fact is not None for fact in (*told, reading.thermostat_blank, reading.rooms)):
        return Heard.COMPLAINT
    return Heard.OTHER


def _plain(text: str) -> str:
    spread = unicodedata.normalize("NFKD", text.lower())
    kept = "".join(c for c in spread if c.isalnum() or c.isspace())
    return " ".join(kept.split())[:500]
