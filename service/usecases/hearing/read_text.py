"""Read a text without storing anything, alone or as part of a conversation."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from rules.asking.conversation import (
    HOMES,
    KIND,
    PLACE,
    READ_BACK,
    RIGHT_NOW,
    Conversation,
    answer_counts,
    to_do,
)
from rules.asking.meant import kind_of_number
from rules.asking.questions import UNKNOWN
from rules.asking.short_words import after_yes, has_no_thermostat, says_it_is_well, works_now
from rules.asking.topics import topics
from rules.asking.troubles import goes_on
from rules.model import Intent, Kind, Temperature, TopicId
from rules.reading import Answer, Reading, read, volunteered
from service.errors import InvalidError, PointedError
from service.usecases.hearing.which_event import BY_INTENT
from service.usecases.rows.printable import printable

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
    reading = _with_kind(read(text, conversation.current), conversation.current)
    if reading.answer is not None and ("?" in text or works_now(text) or _tells_a_cause(text)):
        meant = _unasked(text, reading)
        # "Y entonces?" is no "y", and "ya funciona" tells more than that a screen works.
        if meant.intent in {Intent.STATUS_QUESTION, Intent.RESOLVED}:
            return meant
    if _tells_another_thing(text, reading):
        return replace(reading, answer=None)
    doing = to_do(conversation)
    if doing is not None:
        return _of_check(text, reading, conversation, doing)
    if conversation.current == RIGHT_NOW:
        return _judging(text, reading)
    if conversation.current in {PLACE, HOMES}:
        # Whoever was asked for an address and tells more of the trouble has told that.
        return replace(reading, kinds=reading.kinds or read(text).kinds)
    return _unasked(text, reading) if reading.answer is None else reading


def _tells_a_cause(text: str) -> bool:
    """ "It was on off, my bad, it is warm now" tells more than that a radiator is warm."""
    return says_it_is_well(text) and goes_on((a.topic, a.means) for a in volunteered(text))


def _tells_another_thing(text: str, reading: Reading) -> bool:
    """ "No batteries at home" objects to nothing, "the batteries are new" does not say they are low."""
    answer = reading.answer
    if answer is None or reading.bare:
        return False
    if answer.topic == READ_BACK:
        return bool(volunteered(text))
    of_batteries = (answer.topic, answer.means) == ("q_screen", "low_battery")
    return of_batteries and any(a.topic == "q_batteries" for a in volunteered(text))


def _judging(text: str, reading: Reading) -> Reading:
    """A word on a repair; "yes, but the bedroom is cold" is no yes."""
    if reading.answer is None:
        return _unasked(text, reading)
    if reading.answer.means != "yes" or reading.bare:
        return reading
    kinds = reading.kinds or read(text).kinds
    return replace(reading, answer=None, kinds=kinds) if kinds else reading


def _unasked(text: str, reading: Reading) -> Reading:
    """Of a text that answers nothing: what it wants by itself ("never mind"), also after a "yes"."""
    meant = read(text)
    if meant.intent in BY_INTENT:
        return meant
    more = after_yes(text)
    wanted = read(more).intent if more else meant.intent
    return replace(reading, intent=wanted, answer=None) if wanted in BY_INTENT else reading


def _of_check(text: str, reading: Reading, conversation: Conversation, doing: TopicId) -> Reading:
    """A word while a check runs: what the radiator does already, else whether it was done."""
    if has_no_thermostat(text):
        return replace(reading, answer=Answer(doing, "cannot"))
    own_words = reading.answer is not None and not reading.bare
    if own_words and reading.answer and answer_counts(conversation, reading.answer.means):
        # "Never mind, it just came on" takes the report back besides.
        meant = read(text)
        return meant if meant.intent is Intent.CANCEL else reading
    if not reading.bare:
        unasked = _unasked(text, reading)
        if unasked is not reading:
            return unasked  # "ya no hace falta" is no "ya"
    # A number may be the temperature, and "is that ok?" asks: neither says that it is done.
    says_so = "?" not in text and not any(map(str.isdigit, text))
    done = read(text, doing).answer if says_so else None
    if done is None and not own_words:
        return replace(reading, answer=None)
    return reading if done is None else replace(reading, answer=done)


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
