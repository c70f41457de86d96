"""What looks like an answer to the question that is out, and is none or more than that.

Theory of operation
-------------------
An answer is found by its words, wherever they stand. Each case here knows one way in which that goes
wrong; the first that holds says what the text is instead.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

from rules.asking.asides import asks_of_its_own
from rules.asking.conversation import READ_BACK, RIGHT_NOW, Conversation, State
from rules.asking.questions import UNKNOWN
from rules.asking.short_words import (
    after_yes,
    is_away,
    is_of_access,
    is_still_nothing,
    plain,
    says_it_is_well,
    works_now,
)
from rules.asking.troubles import goes_on
from rules.model import Intent, TopicId
from rules.reading import Answer, Reading, read, volunteered
from service.usecases.hearing.which_event import BY_INTENT

__all__ = [
    "answered_besides",
    "meant_otherwise",
    "of_this_home",
    "parts_of",
    "tells_of_others",
    "unasked",
]

# Where "nothing" may be what is seen, and "still nothing" is not.
LOOKED_AT = frozenset({"q_screen", "q_block", "q_heater"})
# What only somebody at home can look at.
AT_HOME = frozenset(
    {"q_hot", "q_screen", "q_mode", "q_read", "q_set", "q_temp2", "q_dhw", "q_leak", RIGHT_NOW}
)
# What is felt or seen in this home, of which a word on others tells nothing.
OF_THE_HOME = frozenset({"q_hot", "q_up", "q_down", "q_screen", "q_onoff", "q_rooms", "q_dhw"})

_SENTENCES = re.compile(r"[^.!?\n]+[.!?\n]?")
_PARTS = re.compile(r"[,.;!?\n]+|\b(?:and|but|y|pero)\b", re.IGNORECASE)

_Case = Callable[[str, Reading, Answer, Conversation], Reading | None]


def meant_otherwise(text: str, reading: Reading, conversation: Conversation) -> Reading | None:
    """What a text is that was read as an answer, where it is something else."""
    answer = reading.answer
    if answer is None:
        return None
    found = (case(text, reading, answer, conversation) for case in _CASES)
    return next((meant for meant in found if meant is not None), None)


def unasked(text: str, reading: Reading) -> Reading:
    """Of a text that answers nothing: what it wants by itself ("never mind"), also after a "yes"."""
    meant = read(text)
    if meant.intent in BY_INTENT:
        return meant
    more = after_yes(text)
    wanted = read(more).intent if more else meant.intent
    return replace(reading, intent=wanted, answer=None) if wanted in BY_INTENT else reading


def answered_besides(text: str, reading: Reading, asked: TopicId) -> Reading:
    """The reading of "cold. How long will it take?" with the answer of what asks nothing."""
    if reading.intent is not Intent.STATUS_QUESTION or reading.answer is not None:
        return reading
    told = " ".join(part for part in _SENTENCES.findall(text) if not part.endswith("?"))
    answer = read(told, asked).answer if told.strip() and "?" in text else None
    return replace(reading, answer=answer)


def tells_of_others(text: str) -> bool:
    """Whether it says that other homes have the same, or have not."""
    return any(answer.topic == "q_neigh" for answer in volunteered(text))


def of_this_home(text: str) -> str:
    """The parts of a text that tell nothing of others."""
    return ", ".join(part for part in parts_of(text) if not tells_of_others(part))


def parts_of(text: str) -> list[str]:
    """A text taken apart at its stops and where one thing joins another."""
    return [part.strip() for part in _PARTS.split(text)]


def _asks_or_ends(text: str, reading: Reading, _answer: Answer, _c: Conversation) -> Reading | None:
    """ "Y entonces?" is no "y", and "ya funciona" tells more than that a screen works."""
    if not ("?" in text or works_now(text) or _tells_a_cause(text)):
        return None
    meant = unasked(text, reading)
    return meant if meant.intent in {Intent.RESOLVED, Intent.STATUS_QUESTION} else None


def _tells_a_cause(text: str) -> bool:
    """ "It was on off, my bad, it is warm now" tells more than that a radiator is warm."""
    return says_it_is_well(text) and goes_on((a.topic, a.means) for a in volunteered(text))


def _another_thing(text: str, reading: Reading, answer: Answer, _c: Conversation) -> Reading | None:
    """ "No batteries at home" objects to nothing, "the batteries are new" does not say they are low."""
    if reading.bare:
        return None
    told = {a.topic for a in volunteered(text)}
    of_batteries = (answer.topic, answer.means) == ("q_screen", "low_battery")
    is_other = bool(told) if answer.topic == READ_BACK else of_batteries and "q_batteries" in told
    return replace(reading, answer=None) if is_other else None


def _no_change(text: str, _r: Reading, answer: Answer, _c: Conversation) -> Reading | None:
    """ "Still nothing" is not what a screen shows."""
    return read(text) if answer.topic in LOOKED_AT and is_still_nothing(text) else None


def _of_others(text: str, reading: Reading, answer: Answer, _c: Conversation) -> Reading | None:
    """ "Everyone is freezing" is not this home's radiator; "cold, and my neighbor too" is."""
    if reading.bare or answer.topic not in OF_THE_HOME or not tells_of_others(text):
        return None
    return read(text) if read(of_this_home(text), answer.topic).answer != answer else None


def _later(text: str, reading: Reading, answer: Answer, c: Conversation) -> Reading | None:
    """ "Not home right now" is not sure of nothing: the answer is to come."""
    waits = c.state in {State.ASKING, State.REPAIRED}
    to_come = waits and answer.topic in AT_HOME and answer.means == UNKNOWN
    return replace(reading, answer=None) if to_come and is_away(text) else None


def _own_door(text: str, _r: Reading, _answer: Answer, c: Conversation) -> Reading | None:
    """ "2a", of whoever lives there, is the door and no choice 2; where doors are numbers it is one."""
    door = "" if c.home is None else plain(c.home[1])
    is_door = bool(door) and not door.isdigit() and plain(text).replace(" ", "") == door
    return read(text) if is_door else None


def _in_passing(text: str, reading: Reading, answer: Answer, _c: Conversation) -> Reading | None:
    """ "Should I take the cover off?" says of no screen that it is off, "Friday is fine" of none."""
    if reading.bare or not _is_of_its_own(text):
        return None
    rest = ", ".join(part for part in parts_of(text) if not _is_of_its_own(part))
    found = read(rest, answer.topic).answer if rest else None
    return None if found == answer else replace(reading, answer=None)


def _is_of_its_own(text: str) -> bool:
    return asks_of_its_own(text) or is_of_access(text)


_CASES: tuple[_Case, ...] = (
    _own_door,
    _in_passing,
    _asks_or_ends,
    _another_thing,
    _no_change,
    _of_others,
    _later,
)
