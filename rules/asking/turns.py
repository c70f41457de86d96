"""The values a conversation is made of: states, what can happen, what is known, what is done."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from enum import StrEnum
from typing import Any, Literal

from rules.model import Fact, Kind, TopicId

__all__ = [
    "HOMES",
    "KIND",
    "PLACE",
    "READ_BACK",
    "RIGHT_NOW",
    "Ask",
    "Conversation",
    "Heard",
    "Say",
    "Situation",
    "State",
    "Step",
    "Timer",
]

# Topics of the conversation itself; they never count as one of the five questions.
PLACE = TopicId("place")
HOMES = TopicId("apartment_which")
RIGHT_NOW = TopicId("right_now")
# Saying back what we understood, and asking what is wrong, are questions like others and count.
READ_BACK = TopicId("read_back")
KIND = TopicId("kind")


class State(StrEnum):
    """Where a conversation stands."""

    NEW = "new"  # nothing said yet, or nothing open
    PLACE = "place"  # an unknown number was asked where it lives
    WHICH = "which"  # a number with several homes was asked which one
    WHAT = "what"  # somebody who has not said what is wrong was asked
    ASKING = "asking"  # a question is out
    WAITING = "waiting"  # the tenant turned the thermostat; the check is not due yet
    READ_BACK = "read_back"  # asked whether we understood it right
    TOLD = "told"  # nothing more to ask; the household knows what happens next
    REPAIRED = "repaired"  # asked whether all is right after a repair
    PERSON = "person"  # a person has taken over
    STOPPED = "stopped"  # no texts wanted
    CLOSED = "closed"  # silent; the next text opens it again


class Heard(StrEnum):
    """What can happen to a conversation."""

    COMPLAINT = "complaint"
    ANSWER = "answer"
    STATUS = "status"
    RESOLVED = "resolved"
    THANKS = "thanks"
    CANCEL = "cancel"
    HUMAN = "human"
    STOP = "stop"
    START = "start"
    HELP = "help"
    LANGUAGE = "language"
    BACK = "back"  # the last answer is taken back
    PLEA = "plea"  # "make it stop": may be meant for the trouble or for our texts
    NOTED = "noted"  # what asks for no more than a word: a danger denied, how to get in
    DUST = "dust"  # the smell of a heater that is warm for the first time
    SLIP = "slip"  # a text that was meant for somebody else
    ASIDE = "aside"  # what is asked or told in passing, and nothing else: what it costs, a picture
    FOR_ANOTHER = "for_another"  # trouble of another home, told for whoever lives there
    MOVED = "moved"  # the sender does not live there any more, or is about to leave
    CODE = "code"  # the code that shows whose phone it is, right or wrong
    OTHER = "other"
    UNREADABLE = "unreadable"
    TIMER_CHECK = "timer_check"
    TIMER_REMIND = "timer_remind"
    TIMER_CLOSE = "timer_close"
    REPAIR_DONE = "repair_done"

    @property
    def is_text(self) -> bool:
        """Whether a tenant's text caused it, rather than a timer or a technician."""
        return self not in _NOT_TEXTS


_NOT_TEXTS = frozenset(
    {Heard.TIMER_CHECK, Heard.TIMER_REMIND, Heard.TIMER_CLOSE, Heard.REPAIR_DONE}
)


@dataclass(frozen=True, slots=True)
class Conversation:
    """All that is remembered of one number's conversation.

    ``asked`` holds the questions of the complaint that is open; it is emptied when that one is
    closed, not when the conversation is; so is ``helped``, what the household was told to put right
    itself. ``repeats`` counts texts in a row not understood, ``put_again`` says that the question that
    is out was put again for news that came in its place. A closed conversation keeps in ``current`` the
    question that nobody answered, for an answer that comes late. The closing by a technician keeps in
    ``left`` the question that was out then, whether the household knows of the work (``told_of_work``)
    and whether there was any (``looked_only``), until it is asked whether all is right.
    """

    state: State = State.NEW
    language: str = "en"
    asked: tuple[TopicId, ...] = ()
    current: TopicId | None = None
    homes: tuple[tuple[str, str], ...] = ()
    home: tuple[str, str] | None = None
    reminded: bool = False
    repeats: int = 0
    put_again: bool = False
    helped: tuple[str, ...] = ()
    building: str | None = None
    door: str | None = None
    left: TopicId | None = None
    told_of_work: bool = True
    looked_only: bool = False

    def to_dict(self) -> dict[str, Any]:
        """A JSON-able copy."""
        row = asdict(self)
        row["state"] = self.state.value
        row["asked"] = list(self.asked)
        row["helped"] = list(self.helped)
        row["homes"] = [list(home) for home in self.homes]
        row["home"] = list(self.home) if self.home else None
        return row

    @classmethod
    def from_dict(cls, row: Mapping[str, Any]) -> Conversation:
        """The conversation that ``to_dict`` wrote."""
        read: dict[str, Any] = {
            "state": State(row["state"]),
            "asked": tuple(row["asked"]),
            "helped": tuple(row.get("helped", ())),  # a row written before there was help has none
            "homes": tuple(tuple(home) for home in row["homes"]),
            "home": tuple(row["home"]) if row["home"] else None,
        }
        return cls(**{**row, **read})


@dataclass(frozen=True, slots=True, kw_only=True)
class Situation:
    """What the service knows at the moment of answering.

    ``danger`` is what this text says, not what an earlier one said. ``homes`` are the homes this
    number may mean, after the text was read: none (unknown number), one, or several to choose from.
    ``respond_by_text`` is already in the tenant's language; empty means somebody acts right away.
    """

    next_question: TopicId | None = None
    emitter: str | None = None
    heat_motor: bool = False
    thermostat: bool = True
    batteries: bool = False  # whether the thermostat runs on batteries
    reference: str = ""
    respond_by_text: str = ""
    late: bool = False  # the time by which we meant to act is well past
    known_to_us: bool = False
    building_name: str = ""
    danger: tuple[str, ...] = ()
    crisis: bool = False  # this text speaks of hurting oneself
    homes: tuple[tuple[str, str], ...] = ()
    building_names: Mapping[str, str] = field(default_factory=dict)  # of the homes, by id
    kinds: frozenset[Kind] = frozenset()  # what this complaint is about
    opened: bool = False  # this text has opened the report
    failed_repairs: int = 0  # how often a repair has not helped, with this text
    reported: bool = False  # there is an open report, though perhaps without a reference yet
    over_lately: bool = False  # there is none, but one was closed lately
    danger_open: tuple[str, ...] = ()  # dangers told of this report before, which no text ends
    leave_now: bool = False  # one of them keeps the household outside: it was told lately
    bare: bool = False  # this text is but a number, a yes or the like
    told_more: bool = False  # this text told of it what was not known before
    new_kinds: frozenset[Kind] = (
        frozenset()
    )  # troubles it told that an earlier report was not about
    place_told: bool = False  # it told a part of where an unknown phone lives that was not known
    street_unknown: bool = False  # it names a street that is none of our buildings
    check_minutes: int | None = None  # until the text that was promised when a check began
    unnamed: bool = False  # nobody has said yet what it is about
    on_page: bool = False  # the conversation is a page: it waits, and reminds nobody
    facts: tuple[Fact, ...] = ()  # what is known of it, oldest first
    code: Literal["right", "wrong", "void"] | None = None  # what became of a code that was sent
    answer: str | None = None  # what this text answers to the question that is out (its ``means``)
    room_f: float | None = None  # what the thermostat shows, as told last
    set_f: float | None = None  # what it is set to
    oven_in_use: bool = False
    asks_when: bool = False  # this answer asks besides when somebody comes
    asides: tuple[str, ...] = ()  # sentences that answer what this text asks in passing
    language: Literal["en", "es"] | None = None  # the language asked for with a LANGUAGE event


@dataclass(frozen=True, slots=True)
class Ask:
    """What a text asks: its topic and, per choice, what to send and what that means."""

    topic: str
    choices: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Say:
    """One text to send."""

    text: str
    asks: Ask | None = None
    urgent: bool = False


@dataclass(frozen=True, slots=True)
class Timer:
    """Wake the conversation later; replaces an earlier timer of the same purpose and number."""

    purpose: Literal["check", "remind", "close", "repair_check"]
    minutes: float
    topic: TopicId | None = None  # of a check: what is asked when it is due


@dataclass(frozen=True, slots=True)
class Step:
    """What one event leads to."""

    conversation: Conversation
    says: tuple[Say, ...] = ()
    timers: tuple[Timer, ...] = ()
    hand_to_person: bool = False
    reopen: bool = False
    close_complaint: bool = False
