"""Moves while a thermostat check runs: the household has something to do, and nothing is asked yet.

A number, "yes" or "ok" then answers nothing: it says that the thermostat has been turned, or just that
the text was read. Only somebody's own words can tell early what the radiator does.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from rules.asking.asks import advance, asking_timers, open_question, saying_by
from rules.asking.exchange import answered
from rules.asking.helping import helps
from rules.asking.opening import cautions, is_elsewhere
from rules.asking.questions import UNKNOWN
from rules.asking.sayings import say
from rules.asking.turning import CHECK_OF
from rules.asking.turns import Conversation, Say, Situation, State, Step
from rules.asking.wording import pack
from rules.model import TopicId

__all__ = ["answer_counts", "check", "to_do", "tried", "wait", "wait_on"]

_DOING: Mapping[TopicId, TopicId] = MappingProxyType(
    {check: doing for doing, check in CHECK_OF.items()}
)


# Before the wait is over these say something: heat that has already moved has moved. "Still hot"
# and "still cold" do not: nothing could be seen yet.
_EARLY_MEANS = frozenset({"cooling", "warms", "cannot_tell", UNKNOWN})


def answer_counts(c: Conversation, answer: str | None) -> bool:
    """Whether an answer may be taken as evidence: not one given before a check is due."""
    return c.state is not State.WAITING or answer in _EARLY_MEANS


def to_do(c: Conversation) -> TopicId | None:
    """What the household has been told to do and may say that it has done, or cannot do."""
    if c.state is not State.WAITING or c.current is None:
        return None
    return _DOING.get(c.current)


def tried(c: Conversation, s: Situation) -> Step:
    """A word about the check before it is due: taken if it can be true already."""
    if s.answer in ("cannot", "cannot_tell", UNKNOWN):
        lead = (*cautions(c, s), say("turn_cannot", c.language))
        return advance(replace(c, current=None, repeats=0), s, lead)
    if s.answer == "done":
        return wait(c, s)
    if answer_counts(c, s.answer):
        return answered(c, s)
    return _go_on(c, s, "check_early")


def wait(c: Conversation, s: Situation) -> Step:
    """Done, or read: when we write again."""
    return _go_on(c, s, "check_wait")


def wait_on(c: Conversation, s: Situation) -> Step:
    """More about the complaint while a check runs; another home gets a report, and the check goes on."""
    if is_elsewhere(c, s) and s.reference:
        return _then(c, s, saying_by("told", c, s))
    return _go_on(c, s, "check_noted")


def check(c: Conversation, s: Situation) -> Step:
    """The wait is over: now the question with its choices."""
    c = replace(c, state=State.ASKING, repeats=0)
    out = open_question(c, s)
    return Step(c, () if out is None else (out,), asking_timers())


def _go_on(c: Conversation, s: Situation, key: str) -> Step:
    return _then(c, s, say(key, c.language))


def _then(c: Conversation, s: Situation, first: str) -> Step:
    if s.check_minutes is None:
        then = say("check_soon", c.language)
    else:
        then = say("check_then", c.language, minutes=s.check_minutes)
    c, lead = helps(c, s, (*cautions(c, s), first), doing=c.current)
    return Step(c, pack(lead, Say(then)))
