"""Moves that end something or change nothing: news, thanks, a person, silence, fixed words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from rules.asking.asks import (
    PERSON_MINUTES,
    beside_question,
    open_question,
    saying_by,
    what_to_do,
)
from rules.asking.danger_reply import danger_reply, must_leave
from rules.asking.questions import questions
from rules.asking.sayings import say
from rules.asking.turns import Conversation, Say, Situation, State, Step, Timer
from rules.asking.wording import pack

__all__ = [
    "another",
    "cancel",
    "explain",
    "glad",
    "lapse",
    "moved",
    "mute",
    "mute_end",
    "mute_tongue",
    "noted",
    "person",
    "plead",
    "quiet",
    "relay",
    "slip",
    "speak",
    "start",
    "status",
    "stop",
    "welcome",
]


def _says(c: Conversation, key: str, **values: object) -> tuple[Say, ...]:
    return (Say(say(key, c.language, **values)),)


def quiet(c: Conversation, _s: Situation) -> Step:
    """Nothing to do: a timer that is no longer meant, or a text that needs no answer."""
    return Step(c)


def status(c: Conversation, s: Situation) -> Step:
    """What is open, and by when somebody acts; once that time is well past, a person is told."""
    if not s.reference:
        return Step(c, _says(c, "status_none"))
    if s.late:
        return Step(c, _says(c, "status_late", reference=s.reference), hand_to_person=True)
    return Step(c, (Say(saying_by("status", c, s)),))


def welcome(c: Conversation, s: Situation) -> Step:
    """Thanks, or "ok": a question that is out stays out, and its answer is still wanted.

    "Ok the ambulance is here" is no thanks: where a danger was told a person reads it.
    """
    if s.danger_open:
        return relay(c, s)
    return Step(c, _says(c, "welcome" if open_question(c, s) is None else "welcome_asked"))


def plead(c: Conversation, s: Situation) -> Step:
    """ "Make it stop": heard, with the word that stops our texts; a question that is out stays out."""
    return beside_question(c, s, "plea")


def noted(c: Conversation, s: Situation) -> Step:
    """ "No smell", "my neighbor can let you in": heard, and the question is still out."""
    return beside_question(c, s, "noted_short")


def slip(c: Conversation, s: Situation) -> Step:
    """A text meant for somebody else: nothing changes, and who has reported nothing is asked nothing."""
    if not _is_open(s):
        return Step(_ended(c), _says(c, "slip"))
    return beside_question(c, s, "slip")


def another(c: Conversation, _s: Situation) -> Step:
    """Trouble of another home than the phone's, which has reported nothing itself."""
    return _handed(c, "for_another")


def moved(c: Conversation, _s: Situation) -> Step:
    """Whoever has moved out is asked nothing; a person changes what is on file."""
    return _handed(c, "moved")


def explain(c: Conversation, _s: Situation) -> Step:
    """HELP: the words that always work."""
    return Step(c, _says(c, "help"))


def _is_open(s: Situation) -> bool:
    return s.reported or bool(s.reference)


def _ended(c: Conversation) -> Conversation:
    return replace(
        c, state=State.CLOSED, asked=(), current=None, homes=(), reminded=False, repeats=0
    )


def glad(c: Conversation, s: Situation) -> Step:
    """It works now: the complaint is closed, kindly; one of danger only by a person."""
    if s.danger_open:
        return relay(c, s)
    was_open = _is_open(s)
    says = _says(c, "glad_closed" if was_open else "glad")
    return Step(_ended(c), says, close_complaint=was_open)


def cancel(c: Conversation, s: Situation) -> Step:
    """The tenant takes the complaint back; one of danger only a person ends."""
    if s.danger_open:
        return relay(c, s)
    was_open = _is_open(s)
    says = _says(c, "cancelled" if was_open else "nothing_to_cancel")
    return Step(_ended(c), says, close_complaint=was_open)


def person(c: Conversation, _s: Situation) -> Step:
    """A person takes over, on request or because we did not understand twice."""
    return _handed(c, "person")


def relay(c: Conversation, s: Situation) -> Step:
    """A text while a person has taken over goes to that person; who is outside stays outside.

    That it goes there is said once; after that it is only noted.
    """
    if s.leave_now:
        return _handed(c, "danger_noted")
    told = c.state is State.PERSON and c.repeats > 0
    lead = [say(key, c.language) for key in s.asides]
    handed = _handed(c, "noted_short" if told else "person_noted", lead)
    return replace(handed, conversation=replace(handed.conversation, repeats=1))


def _handed(c: Conversation, key: str, lead: Sequence[str] = ()) -> Step:
    c = replace(c, state=State.PERSON, current=None, homes=(), repeats=0)
    timers = (Timer("close", PERSON_MINUTES),)
    return Step(c, pack(lead, Say(say(key, c.language))), timers, hand_to_person=True)


def lapse(c: Conversation, s: Situation) -> Step:
    """Silence for long enough: the conversation ends, never the ticket.

    Whoever left a question open after the reminder is brought to a person's notice, who can call. The
    question is remembered, for an answer that comes late; on a page it stays where it is.
    """
    unanswered = c.state in (State.PLACE, State.WHICH, State.WHAT, State.ASKING)
    if s.on_page and c.current is not None:
        return Step(c, hand_to_person=unanswered)
    asked = () if c.state is State.REPAIRED else c.asked
    closed = replace(c, state=State.CLOSED, asked=asked, repeats=0)
    return Step(closed, hand_to_person=unanswered)


def stop(c: Conversation, s: Situation) -> Step:
    """No more texts: said once, then silence until START. A report stays open."""
    stopped = replace(c, state=State.STOPPED, current=None, homes=(), repeats=0)
    return Step(stopped, _says(c, "stopped_open" if _is_open(s) else "stopped"))


def start(c: Conversation, s: Situation) -> Step:
    """Texts are wanted again, also where they never stopped; who is outside stays outside."""
    says = _says(c, "started_open", reference=s.reference) if s.reference else _says(c, "started")
    if c.state is State.STOPPED:
        c = replace(c, state=State.TOLD if s.reference else State.NEW)
    if s.leave_now and s.reference:
        says = pack([says[0].text], _says(c, "danger_noted")[0])
    return Step(c, says)


def _turned(c: Conversation, s: Situation) -> Conversation:
    other = "en" if c.language == "es" else "es"
    return replace(c, language=s.language or other)


def speak(c: Conversation, s: Situation) -> Step:
    """Go on in the other language, with what was said last in it: who asks may not have understood it.

    To leave, a question that is out, what to do at the thermostat, or by when somebody acts.
    """
    c = _turned(c, s)
    if s.leave_now or (s.danger_open and not must_leave(s.danger_open)):
        return Step(c, (Say(danger_reply(s.danger_open, c.language), urgent=True),))
    if (again := _said_last(c, s)) is not None:
        return Step(c, pack((say("language", c.language),), Say(again)))
    return beside_question(c, s, "language")


def _said_last(c: Conversation, s: Situation) -> str | None:
    """What they were told to do or by when somebody acts, where that is what was said last."""
    checked = questions().get(c.current) if c.current is not None else None
    if c.state is State.WAITING and checked is not None and checked.is_check:
        minutes = s.check_minutes or 0
        return what_to_do(c, s, checked, minutes) if minutes > 1 else None
    if c.state is State.TOLD and s.reference:
        return saying_by("status", c, s)
    return None


def mute(c: Conversation, _s: Situation) -> Step:
    """A text from somebody who wants none: we stay silent and a person looks at it."""
    return Step(c, hand_to_person=True)


def mute_end(c: Conversation, s: Situation) -> Step:
    """All is well, or taken back, from somebody who wants no texts: the complaint ends, in silence."""
    return Step(replace(c, asked=()), close_complaint=bool(s.reference))


def mute_tongue(c: Conversation, s: Situation) -> Step:
    """The other language, asked for by somebody who wants no texts: it holds from START on."""
    return Step(_turned(c, s))
