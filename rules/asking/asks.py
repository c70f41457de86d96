"""What goes out next for a complaint whose home is known: a question, a check, or the plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from rules.asking.helping import answers_in, helps
from rules.asking.questions import Question, Wording, question, questions
from rules.asking.read_back import LEAST, read_back, said_back, understood
from rules.asking.sayings import degrees, say
from rules.asking.turns import (
    HOMES,
    KIND,
    PLACE,
    READ_BACK,
    RIGHT_NOW,
    Ask,
    Conversation,
    Say,
    Situation,
    State,
    Step,
    Timer,
)
from rules.asking.which_home import ask_home
from rules.asking.wording import ask_question, pack

__all__ = [
    "CLOSE_MINUTES",
    "MOST_QUESTIONS",
    "PERSON_MINUTES",
    "REMIND_MINUTES",
    "advance",
    "asking_timers",
    "beside_question",
    "open_question",
    "reads_back",
    "saying_by",
    "start_check",
    "tell",
    "usable_question",
    "what_to_do",
    "wording_of",
]

MOST_QUESTIONS = 5  # a complaint; after that we send somebody with what we have
REMIND_MINUTES = 45.0  # one reminder after so long without an answer
CLOSE_MINUTES = 105.0  # an hour after the reminder the conversation ends, the ticket stays
_MOST_SET_F = 80.0  # no check asks for more (common practice, no source)
PERSON_MINUTES = 24 * 60.0  # a person has had a day: the next text may open the conversation again


def asking_timers() -> tuple[Timer, ...]:
    """What to set when a question goes out; a reminder already given is not given again."""
    return (Timer("remind", REMIND_MINUTES), Timer("close", CLOSE_MINUTES))


def usable_question(c: Conversation, s: Situation) -> Question | None:
    """The question the service proposes, unless asking it would break a promise."""
    topic = KIND if s.unnamed else s.next_question
    if topic is None or topic not in questions() or topic in (RIGHT_NOW, READ_BACK):
        return None
    if s.known_to_us or topic in c.asked or len(c.asked) >= MOST_QUESTIONS:
        return None
    return question(topic) if question(topic).can_be_asked(s.emitter) else None


def saying_by(key: str, c: Conversation, s: Situation) -> str:
    """A sentence that promises a time, in its "right away" form when there is none."""
    by = s.respond_by_text.rstrip(".")  # "7 p. m." ends the sentence it stands in
    if by:
        return say(key, c.language, by=by, reference=s.reference)
    return say(f"{key}_now", c.language, reference=s.reference)


def advance(c: Conversation, s: Situation, lead: Sequence[str] = ()) -> Step:
    """Ask the next question, start a check, read back, or tell; ``lead`` and help come before it."""
    c, asked = replace(c, put_again=False), usable_question(c, s)
    c, lead = helps(c, s, lead, doing=None if asked is None else asked.id)
    if asked is None:
        return _read_back(c, s, lead) if reads_back(c, s) else tell(c, s, lead)
    c = replace(c, asked=(*c.asked, asked.id), current=asked.id, repeats=0)
    if asked.is_check:
        return start_check(replace(c, state=State.WAITING), s, asked, lead)
    c = replace(c, state=State.WHAT if asked.id == KIND else State.ASKING)
    out = ask_question(asked, c.language, wording_of(asked, s).in_language(c.language))
    return Step(c, pack(lead, out), asking_timers())


def reads_back(c: Conversation, s: Situation) -> bool:
    """Whether to say back what we understood instead of telling at once what happens."""
    if s.known_to_us or not s.reference or READ_BACK in c.asked or len(c.asked) >= MOST_QUESTIONS:
        return False
    return len(understood(s.kinds, s.facts)) >= LEAST


def _read_back(c: Conversation, s: Situation, lead: Sequence[str]) -> Step:
    asked = (*c.asked, READ_BACK)
    c = replace(c, state=State.READ_BACK, asked=asked, current=READ_BACK, repeats=0)
    out = open_question(c, s)
    if out is None:  # pragma: no cover  two things in few words always fit
        return tell(c, s, lead)
    # Nobody is reminded: silence is a yes.
    return Step(c, pack(lead, out), (Timer("close", CLOSE_MINUTES),))


def tell(c: Conversation, s: Situation, lead: Sequence[str]) -> Step:
    """Say what happens next and by when; nothing is asked any more."""
    told = replace(c, state=State.TOLD, current=None, repeats=0)
    if s.known_to_us:
        return Step(told, pack(lead, Say(saying_by("known", c, s))))
    if not s.reference:
        return Step(told, pack(lead, Say(say("noted_short", c.language))))
    return Step(told, pack((*lead, *_said_back(c, s)), Say(saying_by("told", c, s))))


def _said_back(c: Conversation, s: Situation) -> tuple[str, ...]:
    """What we understood, after so many questions that it is not asked any more."""
    if READ_BACK in c.asked or len(c.asked) < MOST_QUESTIONS:
        return ()
    text = said_back(understood(s.kinds, s.facts), c.language)
    return () if text is None else (text,)


def start_check(c: Conversation, s: Situation, asked: Question, lead: Sequence[str]) -> Step:
    """What to do at the thermostat, and when we write again."""
    minutes = asked.wait_minutes(s.emitter, heat_motor=s.heat_motor)
    if minutes is None:  # pragma: no cover  usable_question() has ruled this out
        return tell(c, s, lead)
    text = what_to_do(c, s, asked, round(minutes))
    return Step(c, pack(lead, Say(text)), (Timer("check", minutes, asked.id),))


def what_to_do(c: Conversation, s: Situation, asked: Question, minutes: int) -> str:
    """How a check is made at the thermostat, and in how many minutes we write."""
    key = ("down_do" if asked.id == "q_down" else "up_do") + (
        "_pipe" if asked.asks_about_pipe(s.emitter) else ""
    )
    return say(key, c.language, minutes=minutes, setting=_five_above(c, s))


def _five_above(c: Conversation, s: Situation) -> str:
    """What to set it to: five over the room, and never lower than it is set already.

    A number that no cold room has, an age that was misheard, is not built upon.
    """
    if s.room_f is None:
        return say("up_setting_unknown", c.language)
    setting = max(s.room_f + 5, (s.set_f or 0) + 2)
    return degrees(setting) if setting <= _MOST_SET_F else say("up_setting_unknown", c.language)


def open_question(c: Conversation, s: Situation, *, again: bool = False) -> Say | None:
    """The question that is out, as it was first put or in other words; None if none is out."""
    if c.current is None or c.state not in _QUESTION_OUT:
        return None
    if c.current == PLACE:
        return Say(say(_place_key(c, again=again), c.language), asks=Ask(PLACE))
    if c.current == HOMES:
        sentence = say("which_again" if again else "which", c.language)
        return ask_home(sentence, c.homes, s.building_names, c.language)
    if c.current == READ_BACK:
        by = saying_by("read_back_by", c, s)
        return read_back(understood(s.kinds, s.facts), by, c.language, again=again)
    asked = question(c.current)
    wording = wording_of(asked, s, again=again, looked=c.looked_only)
    return ask_question(asked, c.language, wording.in_language(c.language))


def _place_key(c: Conversation, *, again: bool) -> str:
    """What to ask an unknown phone for: its home, or the half of the address that it has not said."""
    if c.building is not None:
        return "place_door_again" if again or c.door is not None else "place_door"
    if again:
        return "place_again"
    return "place_street" if c.door is not None else "place"


def beside_question(c: Conversation, s: Situation, key: str) -> Step:
    """Say one sentence; a question that is out stays out and is put again after it."""
    lead, out = say(key, c.language), open_question(c, s)
    return Step(c, (Say(lead),) if out is None else pack((lead,), out))


def wording_of(
    asked: Question, s: Situation, *, again: bool = False, looked: bool = False
) -> Wording:
    """The question in the words that fit this home and what it has told.

    ``looked`` is whether a technician has found nothing to do.
    """
    if looked and not again and asked.looked is not None:
        return asked.looked
    told = bool(s.kinds)
    reads = s.thermostat and answers_in(s.facts).get("q_screen") != "no_screen"
    return asked.sentence(s.emitter, thermostat=reads, told=told, again=again)


_QUESTION_OUT = frozenset(
    {State.PLACE, State.WHICH, State.WHAT, State.ASKING, State.READ_BACK, State.REPAIRED}
)
