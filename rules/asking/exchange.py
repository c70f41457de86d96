"""Moves in mid-conversation: answers, reminders, more about a complaint, the word after a repair."""

from __future__ import annotations

from dataclasses import replace

from rules.asking.asks import (
    PERSON_MINUTES,
    advance,
    asking_timers,
    open_question,
    saying_by,
    usable_question,
)
from rules.asking.endings import glad, person
from rules.asking.helping import helps
from rules.asking.opening import begin, cautions, greeting, is_elsewhere, prompt
from rules.asking.questions import UNKNOWN, questions
from rules.asking.sayings import say
from rules.asking.turning import CHECK_OF, turned
from rules.asking.turns import RIGHT_NOW, Conversation, Say, Situation, State, Step, Timer
from rules.asking.wording import pack

__all__ = [
    "again",
    "answered",
    "detail",
    "judged",
    "more",
    "remind",
    "reopen",
    "repaired",
    "unclear",
    "while_it_counts",
]

# How long an answer may be late: a radiator that was turned down is turned up again by the next day,
# and a week later a number stands for nothing any more (common practice, no source).
LATE_CHECK_MINUTES = 12 * 60.0
LATE_MINUTES = 7 * 24 * 60.0
# After so many repairs that did not help no question of ours does (common practice, no source).
FAILED_REPAIRS = 2


# What a household has put right itself, where it warms up then.
_SET_RIGHT = frozenset({"help_mode", "help_hold", "help_set", "help_batteries"})


def while_it_counts(c: Conversation, minutes: float) -> Conversation:
    """The conversation that has been silent for so long; a question that is too old is forgotten."""
    if c.state is not State.CLOSED or c.current is None:
        return c
    asked = questions().get(c.current)
    most = LATE_CHECK_MINUTES if asked is not None and asked.is_check else LATE_MINUTES
    return c if minutes <= most else replace(c, current=None, homes=())


def answered(c: Conversation, s: Situation) -> Step:
    """The question that was out has its answer; who has set it right and gets heat is asked no more."""
    if c.current in CHECK_OF and s.answer is not None:
        return turned(c, s)
    lead = cautions(c, s)
    if c.current == "q_up" and s.answer == "warms" and _SET_RIGHT.intersection(c.helped):
        told = replace(c, state=State.TOLD, current=None, repeats=0)
        return Step(told, pack(lead, Say(say("warms_on", c.language))))
    if s.asks_when and usable_question(c, s) is not None:
        lead = (*lead, saying_by("read_back_by", c, s))  # else what comes next says it
    return advance(replace(c, current=None, repeats=0), s, lead)


def detail(c: Conversation, s: Situation) -> Step:
    """More about the complaint in place of an answer: put what is out again.

    What is news cannot go on for ever, so it does not count as not understood. But nobody is put one
    question a third time, nor again who says the same over and over: the next one may fit better.
    """
    if is_elsewhere(c, s):
        return begin(c, s)
    out = open_question(c, s)
    put_twice = c.put_again or c.repeats > 0
    if (s.told_more or s.new_kinds) and out is not None:
        lead = (*cautions(c, s), say("noted_short", c.language))
        if put_twice:
            return advance(replace(c, current=None, repeats=0), s, lead)
        c, lead = helps(replace(c, put_again=True), s, lead)
        return Step(c, pack(lead, out), asking_timers())
    return answered(c, s) if put_twice or c.current in CHECK_OF else again(c, s)


def again(c: Conversation, s: Situation) -> Step:
    """Not understood: the same in other words, once; then a person.

    Whoever asks of an oven or a heater has an answer, and the same question after it.
    """
    lead = cautions(c, s)
    out = open_question(c, s, again=not lead)
    if out is None or (c.repeats and not lead):
        return person(c, s)
    return Step(c if lead else replace(c, repeats=1), pack(lead, out), asking_timers())


def remind(c: Conversation, s: Situation) -> Step:
    """One reminder a complaint, with the question again."""
    out = open_question(c, s)
    if c.reminded or s.on_page or out is None:
        return Step(c)
    return Step(replace(c, reminded=True), pack((say("remind", c.language),), out))


def _noted(c: Conversation, s: Situation) -> str:
    if not s.reference:
        return say("noted_short", c.language)
    return say("noted", c.language, reference=s.reference)


def more(c: Conversation, s: Situation) -> Step:
    """More about a complaint that we had nothing left to ask about."""
    if is_elsewhere(c, s):
        return begin(c, s)
    lead = (*cautions(c, s), _noted(c, s))
    if usable_question(c, s) is not None:
        return advance(c, s, lead)
    told, lead = helps(replace(c, state=State.TOLD, current=None, repeats=0), s, lead)
    return Step(told, pack(lead[:-1], Say(lead[-1])))


def unclear(c: Conversation, s: Situation) -> Step:
    """A text we cannot place while nothing is asked: kept with the report, then for a person.

    A "yes" or a number after the last question needs nobody.
    """
    if not s.reference:
        return prompt(c, s)
    if s.bare:
        return Step(c, (Say(_noted(c, s)),))
    if c.repeats:
        return person(c, s)
    return Step(replace(c, repeats=1), (Say(_noted(c, s)),))


def repaired(c: Conversation, s: Situation) -> Step:
    """A technician has closed the ticket: ask whether all is right."""
    c = replace(c, state=State.REPAIRED, current=RIGHT_NOW, homes=(), repeats=0)
    c = replace(c, left=None, told_of_work=True)
    out = open_question(c, s)
    if out is None:  # pragma: no cover  the question has just been set
        return Step(c)
    return Step(c, pack((greeting(c, s, report=False),), out), (Timer("close", PERSON_MINUTES),))


def judged(c: Conversation, s: Situation) -> Step:
    """The answer after a repair."""
    if s.answer == "yes":
        return glad(c, s)
    if s.answer == "no":
        return reopen(c, s)
    if s.answer == UNKNOWN:
        ended = replace(c, state=State.CLOSED, asked=(), current=None, repeats=0)
        return Step(ended, (Say(say("right_not_sure", c.language)),))
    return again(c, s)


def reopen(c: Conversation, s: Situation) -> Step:
    """It is not right after the repair: the same complaint goes on; the second time a person is told."""
    failed_again = s.failed_repairs >= FAILED_REPAIRS
    lead = (*cautions(c, s), saying_by("reopened_again" if failed_again else "reopened", c, s))
    if usable_question(c, s) is not None and not failed_again:
        return replace(advance(c, s, lead), reopen=True)
    told = replace(c, state=State.TOLD, current=None, repeats=0)
    says = pack(lead[:-1], Say(lead[-1]))
    return Step(told, says, hand_to_person=failed_again, reopen=True)
