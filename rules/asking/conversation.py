"""The conversation with one number, as a table of states.

Theory of operation
-------------------
A conversation is a small frozen value. Every text, timer or repair is one event; ``step`` looks up
(state, event) in ``TRANSITIONS`` and makes the move named there. There is no other place where a
state changes. The rules that hold whatever happens:

1. Danger comes first. If a text speaks of danger, the leave-now text is the first and only thing
   said, nothing is asked in that step, and a person takes over; whoever speaks of hurting themselves
   is given the number of the crisis line in the same way. For a day whoever writes from that home
   is told to stay out, and is asked nothing. Nothing else is said after STOP. What few words tell only
   with the report ("it is near the outlet now", of a leak) is danger too (``danger_meant``).
2. A complaint is asked about at most five times, never twice about one topic, one question a text.
   Putting a question again (not understood, reminder, other language) is not a new question.
3. A text we do not understand is asked about once more in other words; the second time a person
   reads it. A text that answers something else is taken for that, and does not count against it; nor
   do a text meant for somebody else, a thumb, "not home now", "make it stop" and what is asked in
   passing (``asides``): why we ask, what it costs, whether one may open it, a picture nobody can see.
   "Wait, I meant 3" puts the answer before right; the question stays out.
4. The thermostat checks have two halves: what to do and when we write again, then, when the timer
   fires, the question. In between nothing is asked, and "yes" or "1" answer nothing. How long to wait
   follows from how fast the emitter cools; iron is judged by its pipe, a heated floor not at all.
5. Before the end we say back what we understood, if it is two things or more: as a question while
   there are fewer than five, else as a sentence. BACK takes the last answer back and puts its
   question again.
6. Silence ends the conversation after one reminder, never the ticket; whoever left a question open
   is brought to a person's notice, and an answer that comes late still counts. On a page a question
   waits until somebody opens it. A tenant's "it works now" ends the complaint, also one that a person
   has, but never one of danger; from whoever has reported nothing it is doubted ("heating is ot
   working"). From a repair on, asked or not, "yes" and "no" are about it: "no" opens it again, and
   after the second repair that did not help a person is told. Not so what answers the question that
   was out at the closing, nor any word of a household that knows of no work yet (``kept``).
7. STOP is confirmed once; then nothing is said until START. Whoever waits past the time by which we
   meant to act is told that we are late, and a person is; so is one of another home's trouble, told by a
   phone that is on file elsewhere, and of who has moved out.
8. Whoever tells, asked or not, that the thermostat is off or holds too little, its batteries are empty,
   a window is open or a sofa stands before the radiator is told once to put that right (``helping``),
   and how not to be burnt where tap water scalds; the smell of first dust has its word (``dust``);
   the report goes on all the same. What was done ("I set it to HEAT") is noted and ends nothing.
9. A trouble that is new in an open report is warned of like a first one (``cautions``).

The service decides what to ask (``Situation.next_question``), stores the conversation between
events, and keeps one timer per number and purpose: a new one replaces the old.
"""

from __future__ import annotations

from dataclasses import replace

from rules.asking.asks import PERSON_MINUTES
from rules.asking.changing import taken_back
from rules.asking.danger_reply import danger_reply
from rules.asking.endings import relay
from rules.asking.exchange import while_it_counts
from rules.asking.moves import MOVES
from rules.asking.sayings import say
from rules.asking.transitions import TRANSITIONS
from rules.asking.turns import (
    HOMES,
    KIND,
    PLACE,
    READ_BACK,
    RIGHT_NOW,
    Ask,
    Conversation,
    Heard,
    Say,
    Situation,
    State,
    Step,
    Timer,
)
from rules.asking.waiting import answer_counts, to_do

__all__ = [
    "HOMES",
    "KIND",
    "PLACE",
    "READ_BACK",
    "RIGHT_NOW",
    "TRANSITIONS",
    "Ask",
    "Conversation",
    "Heard",
    "Say",
    "Situation",
    "State",
    "Step",
    "Timer",
    "answer_counts",
    "danger_reply",
    "step",
    "taken_back",
    "to_do",
    "while_it_counts",
]


# What a household that must stay outside is not led on by, whichever of its phones sends it.
_FROM_OUTSIDE = frozenset(
    {
        Heard.COMPLAINT,
        Heard.ANSWER,
        Heard.STATUS,
        Heard.RESOLVED,
        Heard.THANKS,
        Heard.CANCEL,
        Heard.BACK,
        Heard.ASIDE,
        Heard.OTHER,
        Heard.UNREADABLE,
    }
)


def step(conversation: Conversation, event: Heard, situation: Situation) -> Step:
    """What one event leads to: the conversation after it, texts, timers, word to the service."""
    if situation.danger and event.is_text:
        leave = danger_reply(situation.danger, conversation.language)
        return _safety(conversation, event, situation, leave)
    if situation.crisis and event.is_text:
        return _safety(conversation, event, situation, say("crisis", conversation.language))
    if situation.leave_now and conversation.state is not State.STOPPED:
        if event in _FROM_OUTSIDE:
            return relay(conversation, situation)
        if event in (Heard.TIMER_CHECK, Heard.TIMER_REMIND):
            return Step(conversation)
    move = MOVES[TRANSITIONS[conversation.state, event]]
    return move(conversation, situation)


def _safety(c: Conversation, event: Heard, s: Situation, text: str) -> Step:
    """Said although nothing else is said after STOP; then a person takes over."""
    silent = event is Heard.STOP or (c.state is State.STOPPED and event is not Heard.START)
    home = s.homes[0] if len(s.homes) == 1 else c.home
    after = replace(
        c,
        state=State.STOPPED if silent else State.PERSON,
        home=home,
        homes=(),
        current=None,
        repeats=0,
    )
    timers = () if silent else (Timer("close", PERSON_MINUTES),)
    return Step(after, (Say(text, urgent=True),), timers, hand_to_person=True)
