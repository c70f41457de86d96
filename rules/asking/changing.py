"""Moves about what was said before: answers taken back, agreed to or late, and codes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType

from rules.asking.asks import asking_timers, beside_question, open_question, tell
from rules.asking.endings import glad, noted, relay, status
from rules.asking.exchange import again, judged, more, repaired, unclear
from rules.asking.opening import begin, chosen, doubted, greeting, named, placed, prompt
from rules.asking.questions import UNKNOWN
from rules.asking.sayings import say
from rules.asking.turns import (
    HOMES,
    KIND,
    PLACE,
    READ_BACK,
    RIGHT_NOW,
    Conversation,
    Say,
    Situation,
    State,
    Step,
)
from rules.asking.wording import pack
from rules.model import TopicId

__all__ = [
    "agreed",
    "back",
    "code",
    "dust",
    "heed",
    "kept",
    "late",
    "news",
    "puzzled",
    "resume",
    "taken_back",
    "told",
    "well",
]

# Where an answer can lie behind us; elsewhere there is none, or a person is at it.
_HAS_ANSWERS = frozenset(
    {State.WHAT, State.ASKING, State.WAITING, State.READ_BACK, State.TOLD, State.CLOSED}
)


def taken_back(c: Conversation) -> TopicId | None:
    """The question whose answer BACK takes back: the last one before the question that is out."""
    if c.state not in _HAS_ANSWERS:
        return None
    behind = [topic for topic in c.asked if topic not in (READ_BACK, KIND, c.current)]
    return behind[-1] if behind else None


def back(c: Conversation, s: Situation) -> Step:
    """The last answer does not count any more; its question is put again."""
    topic = taken_back(c) if s.reference else None
    if topic is None:
        return beside_question(c, s, "back_none")
    asked = c.asked[: c.asked.index(topic) + 1]
    c = replace(c, state=State.ASKING, asked=asked, current=topic, repeats=0)
    return replace(beside_question(c, s, "back"), timers=asking_timers())


def agreed(c: Conversation, s: Situation) -> Step:
    """The answer to "is that right?"; whoever is not sure has not objected."""
    if s.answer == "change":
        # The next text is what should be changed; one that says nothing goes to a person.
        changing = replace(c, state=State.TOLD, current=None, repeats=1)
        return Step(changing, (Say(say("change", c.language)),))
    return told(c, s) if s.answer in ("right", UNKNOWN) else again(c, s)


def late(c: Conversation, s: Situation) -> Step:
    """An answer after the conversation had ended, to the question that was out then."""
    if c.current is not None and c.current in _LATE:
        return _LATE[c.current](c, s)
    return more(c, s) if s.reference else prompt(c, s)


_LATE: Mapping[TopicId, Callable[[Conversation, Situation], Step]] = MappingProxyType(
    {PLACE: placed, HOMES: chosen, KIND: named, READ_BACK: agreed, RIGHT_NOW: judged}
)


def resume(c: Conversation, s: Situation) -> Step:
    """A complaint after silence: a new one is greeted, more of one that is open goes on with it."""
    return begin(c, s) if s.opened or not s.reference else more(c, s)


def heed(c: Conversation, s: Situation) -> Step:
    """A complaint while a person has taken over: theirs, but what nobody has reported yet is begun."""
    return begin(c, s) if s.opened and not s.leave_now else relay(c, s)


def news(c: Conversation, s: Situation) -> Step:
    """How things stand; after a repair that is how it is now."""
    return repaired(c, s) if _is_judging(c, s) else status(c, s)


def puzzled(c: Conversation, s: Situation) -> Step:
    """A text after silence that we cannot place."""
    return repaired(c, s) if _is_judging(c, s) else unclear(c, s)


def dust(c: Conversation, s: Situation) -> Step:
    """The first warmth burns off dust: said so, and nothing is asked."""
    out, says = open_question(c, s), say("dust", c.language)
    if out is not None:
        return Step(c, pack((says,), out))
    lead = () if s.reference else (greeting(c, s, report=False),)
    return Step(c, pack(lead, Say(says)))


def kept(c: Conversation, s: Situation) -> Step:
    """An answer to what was asked before a technician closed the report: whoever knows of no work is
    told and asked, anybody else is asked next morning anyway."""
    return repaired(c, s) if _is_judging(c, s) and not c.told_of_work else noted(c, s)


def _is_judging(c: Conversation, s: Situation) -> bool:
    """Whether a repair is done and the household has not said yet whether it helped."""
    return c.current == RIGHT_NOW and not s.reference


def well(c: Conversation, s: Situation) -> Step:
    """All is well: a report ends, or a repair has helped. Nobody else writes to say so."""
    had_trouble = s.reported or bool(s.reference) or s.over_lately or c.current in (KIND, RIGHT_NOW)
    return glad(c, s) if had_trouble else doubted(c, s)


def told(c: Conversation, s: Situation) -> Step:
    """What happens next and by when."""
    return tell(c, s, ())


def code(c: Conversation, s: Situation) -> Step:
    """Somebody sent the code that shows whose phone it is; a question that is out stays out."""
    taken = beside_question(c, s, f"code_{s.code or 'void'}")
    return replace(taken, hand_to_person=s.code in ("void", None))
