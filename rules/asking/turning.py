"""A person asks a household to turn its thermostat, while somebody watches the valve or from afar.

Whoever watches needs to know at once when it has been turned, so that is asked first; the question
what the radiator does comes after the same wait as in the machine's own check. Being asked by a person
is no question of the machine's five, and may repeat one that was asked before.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from rules.asking.asks import CLOSE_MINUTES, start_check
from rules.asking.questions import UNKNOWN, question
from rules.asking.sayings import say
from rules.asking.turns import Conversation, Say, Situation, State, Step, Timer
from rules.asking.wording import ask_question
from rules.model import TopicId

__all__ = ["CHECK_OF", "ask_from_afar", "ask_while_watched", "set_back", "turned"]

# What is asked while somebody watches, and the check that it becomes once the thermostat is turned.
CHECK_OF: Mapping[TopicId, TopicId] = MappingProxyType(
    {TopicId("turn_down"): TopicId("q_down"), TopicId("turn_up"): TopicId("q_up")}
)


def ask_while_watched(c: Conversation, topic: TopicId) -> Step:
    """ "A technician is at your heat now, please turn it": the household says when it is done."""
    asked = question(topic)
    c = replace(c, state=State.ASKING, current=topic, homes=(), repeats=0)
    out = ask_question(asked, c.language, asked.asks.in_language(c.language))
    return Step(c, (out,), (Timer("close", CLOSE_MINUTES),))


def ask_from_afar(c: Conversation, s: Situation, topic: TopicId) -> Step | None:
    """The check as the machine makes it; None where it is useless, as with a heated floor."""
    check = CHECK_OF[topic]
    if not question(check).can_be_asked(s.emitter):
        return None
    return start_check(_checking(c, check), s, question(check), ())


def turned(c: Conversation, s: Situation) -> Step:
    """The household says that it has turned the thermostat, or that it cannot."""
    check = CHECK_OF[c.current or TopicId("turn_down")]
    told = replace(c, state=State.TOLD, current=None, repeats=0)
    if s.answer in ("cannot", UNKNOWN):
        return Step(told, (Say(say("turn_cannot", c.language)),))
    minutes = question(check).wait_minutes(s.emitter, heat_motor=s.heat_motor)
    if minutes is None:
        return Step(told, (Say(say("turn_watched", c.language)),))
    thanks = Say(say("turn_thanks", c.language, minutes=round(minutes)))
    return Step(_checking(c, check), (thanks,), (Timer("check", minutes),))


def set_back(c: Conversation) -> Step:
    """Whoever watched has seen enough: the household may turn the thermostat as it likes."""
    ours = {*CHECK_OF, *CHECK_OF.values()}
    if c.current in ours and c.state in (State.ASKING, State.WAITING):
        c = replace(c, state=State.TOLD, current=None, repeats=0)
    return Step(c, (Say(say("turn_over", c.language)),))


def _checking(c: Conversation, check: TopicId) -> Conversation:
    asked = (*(topic for topic in c.asked if topic != check), check)
    return replace(c, state=State.WAITING, asked=asked, current=check, homes=(), repeats=0)
