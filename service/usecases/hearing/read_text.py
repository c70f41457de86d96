"""Read a text without storing anything, alone or as part of a conversation."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

from rules.asking.conversation import (
    HOMES,
    KIND,
    PLACE,
    RIGHT_NOW,
    Conversation,
    State,
    answer_counts,
    to_do,
)
from rules.asking.meant import kind_of_number
from rules.asking.questions import UNKNOWN
from rules.asking.short_words import after_yes, has_no_thermostat, is_question
from rules.asking.topics import topics
from rules.model import Intent, Kind, Temperature, TopicId
from rules.reading import Answer, Reading, read
from service.errors import InvalidError, PointedError
from service.usecases.hearing.no_answer import answered_besides, meant_otherwise, unasked
from service.usecases.rows.printable import printable

_YES_LAST = re.compile(r"[ ,.;]+(?:yes|yeah|yep|s[ií])[ .!]*$", re.IGNORECASE)
_NO_FIRST = re.compile(r"no\b[ ,.]*", re.IGNORECASE)
_BUT = re.compile(r"(?:but|pero|solo que|except)\b[ ,]*", re.IGNORECASE)

__all__ = ["read_in_talk", "read_text", "reading_json"]


def read_text(text: str, asked: str | None) -> dict[str, Any]:
    """What a text says, as JSON.

    Raises:
        InvalidError: nobody is asked anything under the topic ``asked``.
    """
    if asked and asked not in topics():
        says = f"there is no topic {asked!r}; topics are {', '.join(topics())}"
        raise InvalidError("the text cannot be read as an answer", (PointedError("/asked", says),))
    return reading_json(read(printable(text), TopicId(asked) if asked else None))


def read_in_talk(text: str, conversation: Conversation) -> Reading:
    """What a text says, as an answer to what is out: a question, or something to do."""
    asked = conversation.current
    reading = _with_kind(read(text, asked), asked)
    meant = meant_otherwise(text, reading, conversation) or _as_asked(text, reading, conversation)
    if conversation.state is State.ASKING and asked is not None:
        return answered_besides(text, meant, asked)
    return meant


def _as_asked(text: str, reading: Reading, conversation: Conversation) -> Reading:
    """The same by what is out."""
    doing = to_do(conversation)
    if doing is not None:
        return _of_check(text, reading, conversation, doing)
    if conversation.current == RIGHT_NOW:
        return _judging(text, reading)
    if conversation.current in {PLACE, HOMES}:
        # Whoever was asked for an address and tells more of the trouble has told that.
        return replace(reading, kinds=reading.kinds or read(text).kinds)
    return unasked(text, reading) if reading.answer is None else reading


def _judging(text: str, reading: Reading) -> Reading:
    """A word on a repair; "yes, but the bedroom is cold" is no yes."""
    if reading.answer is None:
        return unasked(text, reading)
    if reading.answer.means != "yes" or reading.bare:
        return reading
    kinds = reading.kinds or read(text).kinds or read(_objection(text)).kinds
    return replace(reading, answer=None, kinds=kinds) if kinds else reading


def _objection(text: str) -> str:
    """What follows "yes, but"; empty where nothing does."""
    said = _BUT.match(after_yes(text))
    return after_yes(text)[said.end() :] if said else ""


def _of_check(text: str, reading: Reading, conversation: Conversation, doing: TopicId) -> Reading:
    """A word while a check runs: what the radiator does already, else whether it was done."""
    if has_no_thermostat(text):
        return replace(reading, answer=Answer(doing, "cannot"))
    own_words = reading.answer is not None and not reading.bare and _says_itself(text, reading)
    own_words = own_words and not is_question(text)
    if own_words and reading.answer and answer_counts(conversation, reading.answer.means):
        # "Never mind, it just came on" takes the report back besides.
        meant = read(text)
        return meant if meant.intent is Intent.CANCEL else reading
    if not reading.bare:
        wanted = unasked(text, reading)
        if wanted is not reading:
            return wanted  # "ya no hace falta" is no "ya"
    # A number may be the temperature, and "is that ok?" asks: neither says that it is done.
    says_so = "?" not in text and not any(map(str.isdigit, text))
    done = read(text, doing).answer if says_so and not _is_mere_no(text, doing) else None
    if done is None and not own_words:
        return replace(reading, answer=None)
    return reading if done is None else replace(reading, answer=done)


def _says_itself(text: str, reading: Reading) -> bool:
    """Whether an answer is more than its "yes": in "yes that is right", "in Celsius, yes" none is."""
    rest, answer = after_yes(text) or _YES_LAST.sub("", text), reading.answer
    return not rest or rest == text or answer is None or read(rest, answer.topic).answer == answer


def _is_mere_no(text: str, doing: TopicId) -> bool:
    """Whether it is the "no" of "no heat!!" that seems to say that something cannot be done."""
    said = _NO_FIRST.match(text.strip())
    rest = text.strip()[said.end() :] if said else ""
    return bool(rest) and bool(read(text).kinds) and read(rest, doing).answer is None


def _with_kind(reading: Reading, asked: TopicId | None) -> Reading:
    """The answer to "what is wrong?" is what the report is about; how warm it is may say it too."""
    answer = reading.answer
    if answer is None and asked == KIND and reading.room_temp is not None and not reading.kinds:
        told = kind_of_number(reading.room_temp)
        return reading if told is None else replace(reading, kinds=(told,))
    if answer is None or answer.topic != KIND or answer.means == UNKNOWN:
        return reading
    return replace(reading, kinds=tuple(dict.fromkeys((*reading.kinds, Kind(answer.means)))))


def reading_json(reading: Reading) -> dict[str, Any]:
    """A reading in the form the API shows it."""
    answer = reading.answer
    return {
        "language": reading.language.value,
        "intent": reading.intent.value,
        "kinds": [k.value for k in reading.kinds],
        "danger": reading.danger,
        "room_temp": _temperature(reading.room_temp),
        "setpoint": _temperature(reading.setpoint),
        "noise": reading.noise.value if reading.noise else None,
        "care": [c.value for c in reading.care],
        "emitter": reading.emitter.value if reading.emitter else None,
        "window_open": reading.window_open,
        "thermostat_blank": reading.thermostat_blank,
        "rooms": reading.rooms.value if reading.rooms else None,
        "danger_kinds": list(reading.danger_kinds),
        "answer": {"topic": answer.topic, "means": answer.means} if answer else None,
        "spans": [{"start": s.start, "end": s.end, "what": s.what} for s in reading.spans],
    }


def _temperature(found: Temperature | None) -> dict[str, Any] | None:
    if found is None:
        return None
    value = int(found.value) if float(found.value).is_integer() else found.value
    return {"value": value, "unit": found.unit}
