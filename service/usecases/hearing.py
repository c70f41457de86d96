"""Which event of the conversation a text is."""

from __future__ import annotations

import re
import unicodedata
from typing import Literal

from rules.asking.conversation import HOMES, PLACE, RIGHT_NOW, Conversation, Heard, State
from rules.model import Intent
from rules.reading import Reading

__all__ = ["BY_INTENT", "event_of", "in_crisis", "is_plea", "language_asked_for"]

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
# "Make it stop" is about the trouble, "stop it" may be; neither is where nothing that can stop is open.
PLEA = re.compile(
    r"(please |just |can you |could you |will you |someone )*"
    r"(((make|get) (it|that|this|them) (to )?)?stop( it| that| this| them)?"
    r"|(make|get) (it|that|this|them) (to )?stop \w+"
    r"|stop (the|this|that|these|those) (?!text|messag|msg|sms)\w+( \w+)?)( please| now| already)*"
    r"|(por favor )?(haz |haga |hagan )?que (se )?(pare|paren|calle|callen|detenga)( ya| por favor)*"
)
PLEA_NAMES = re.compile(r"\b(it|that|this|them|the|these|those|que)\b")
SLIP = re.compile(
    r"\b(wrong (number|person|chat)|meant (that |this )?for|meant to text|text(ed)? the wrong"
    r"|(ignore|disregard) (that|this|my last|the last)|numero equivocado"
    r"|me equivoque de (numero|persona|chat)|no era para (usted|ustedes|ti|aqui))\b"
)
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


def is_plea(text: str) -> bool:
    """Whether somebody wants something to stop, and it may be the trouble rather than our texts."""
    words = _plain(text)
    return PLEA.fullmatch(words) is not None and PLEA_NAMES.search(words) is not None


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
    if conversation.current in {PLACE, HOMES}:
        if len(homes) == 1:
            return reading.intent not in BY_INTENT
        return reading.answer is not None and not _tells(reading)
    return reading.answer is not None and conversation.current is not None


def _tells(reading: Reading) -> bool:
    """Whether it says more of the trouble than a number, which may be a house or a door."""
    return bool(reading.kinds) or (reading.room_temp is not None and not reading.bare)


def _rest(text: str, reading: Reading, conversation: Conversation, *, tells: bool) -> Heard:
    if reading.intent is Intent.COMPLAINT or reading.kinds:
        return Heard.COMPLAINT
    words = _plain(text)
    if not words:
        return _wordless(text, conversation)
    if SLIP.search(words):
        return Heard.SLIP
    if tells and conversation.state is not State.NEW:
        return Heard.COMPLAINT
    if len(words) <= LONGEST_THANKS and "?" not in text and THANKS.search(words):
        return Heard.THANKS
    return Heard.COMPLAINT if _states(reading, conversation) else Heard.OTHER


def _wordless(text: str, conversation: Conversation) -> Heard:
    """A picture, signs, or "???", which from somebody who is waiting asks after the report."""
    if not text.strip():
        return Heard.PICTURE
    idle = conversation.current is None or conversation.state is State.WAITING
    return Heard.STATUS if "?" in text and idle else Heard.UNREADABLE


def _states(reading: Reading, conversation: Conversation) -> bool:
    """Whether it tells a fact of the home; after a repair how warm it is does not say if it is right."""
    told = (reading.emitter, reading.window_open, reading.thermostat_blank, reading.rooms)
    numbers = () if conversation.current == RIGHT_NOW else (reading.room_temp, reading.setpoint)
    return any(fact is not None for fact in (*told, *numbers))


def _plain(text: str) -> str:
    spread = unicodedata.normalize("NFKD", text.lower())
    kept = "".join(c for c in spread if c.isalnum() or c.isspace())
    return " ".join(kept.split())[:500]
