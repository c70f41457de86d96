"""How a conversation opens: who we are, which home it is about, and the first thing to ask."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

from rules.asking.asks import advance, asking_timers, open_question, reads_back, usable_question
from rules.asking.endings import person
from rules.asking.questions import UNKNOWN
from rules.asking.sayings import say
from rules.asking.turns import HOMES, KIND, PLACE, Conversation, Say, Situation, State, Step
from rules.asking.wording import pack
from rules.model import Kind

__all__ = [
    "aside",
    "begin",
    "cautions",
    "chosen",
    "doubted",
    "greeting",
    "home_on",
    "is_elsewhere",
    "named",
    "place_on",
    "placed",
    "prompt",
    "unnamed",
    "warnings",
]

_LONGEST_NAME = 30  # characters of a building name that a text has room for

# Where danger is possible behind an ordinary complaint: a heat source that fails may leak gas or
# CO, and a leak may reach the electrics.
_SAFETY_LINE: Mapping[Kind, str] = {
    Kind.LEAK: "safety_water",
    Kind.TOO_COLD: "safety_gas",
    Kind.NO_HOT_WATER: "safety_gas",
    Kind.OTHER: "safety_gas",
}


def greeting(c: Conversation, s: Situation, *, report: bool) -> str:
    """Who is writing, about which building, under which reference."""
    name = s.building_name[:_LONGEST_NAME].strip()
    if not name:
        return say("greeting_no_place", c.language)
    if report and s.reference:
        return say("greeting", c.language, building=name, reference=s.reference)
    return say("greeting_no_report", c.language, building=name)


def warnings(c: Conversation, s: Situation) -> tuple[str, ...]:
    """The short safety line, when there is reason for one; an oven in use comes before others."""
    if s.oven_in_use or "safety_no_oven" in s.asides:
        return _asides(c, s)
    lines = _safety_lines(s.kinds if s.unnamed else s.kinds - {Kind.OTHER})[:1]
    return (*(say(line, c.language) for line in lines), *_asides(c, s))


def _safety_lines(kinds: Collection[Kind]) -> list[str]:
    return list(dict.fromkeys(line for kind, line in _SAFETY_LINE.items() if kind in kinds))


def _kindly(c: Conversation, s: Situation, before: tuple[str, ...], after: tuple[str, ...]) -> Step:
    """Go on with a word of sympathy for the first trouble told, unless that takes one text more."""
    told = [kind for kind in _SORRY if kind in s.kinds][:1]
    sorry = tuple(say(f"sorry_{kind.value}", c.language) for kind in told)
    kind, plain = (advance(c, s, (*before, *words, *after)) for words in (sorry, ()))
    return kind if len(kind.says) == len(plain.says) else plain


_SORRY = (Kind.TOO_COLD, Kind.TOO_HOT, Kind.NO_HOT_WATER, Kind.LEAK, Kind.NOISE)


def cautions(c: Conversation, s: Situation) -> tuple[str, ...]:
    """What to say first in the middle of a report: of an oven, or of a trouble that is new in it."""
    said = _safety_lines(s.kinds - s.new_kinds)
    new = [line for line in _safety_lines(s.new_kinds - {Kind.OTHER}) if line not in said]
    return (*_asides(c, s), *(say(line, c.language) for line in new))


def _asides(c: Conversation, s: Situation) -> tuple[str, ...]:
    """What answers a question in passing; an oven in use is first, and of a small heater not besides."""
    oven = "safety_oven" if s.oven_in_use else "safety_no_oven"
    of_oven = s.oven_in_use or oven in s.asides
    rest = (key for key in s.asides if key not in _OF_HEATING or not of_oven)
    return tuple(say(key, c.language) for key in (*([oven] if of_oven else []), *rest))


_OF_HEATING = frozenset({"safety_no_oven", "safety_heater"})


def begin(c: Conversation, s: Situation) -> Step:
    """A complaint: find out which home, then greet and ask or tell."""
    home = _the_home(c, s)
    if home is not None:
        return _greet(_at_home(c, home), s)
    if s.homes:
        return _ask_which(c, s)
    if c.home is not None:
        return _greet(c, s)
    return _ask_place(c, s)


def is_elsewhere(c: Conversation, s: Situation) -> bool:
    """Whether a text speaks of another home than the conversation so far."""
    return len(s.homes) == 1 and c.home not in (None, s.homes[0])


def _the_home(c: Conversation, s: Situation) -> tuple[str, str] | None:
    if len(s.homes) == 1:
        return s.homes[0]
    # Somebody with several homes who is in the middle of a complaint goes on about the same one.
    return c.home if c.asked and c.home in s.homes else None


def _at_home(c: Conversation, home: tuple[str, str]) -> Conversation:
    if c.home not in (None, home):
        c = replace(c, asked=(), helped=())
    return replace(c, home=home, homes=(), current=None, repeats=0)


def _greet(c: Conversation, s: Situation) -> Step:
    asks = usable_question(c, s) is not None or reads_back(c, s)
    who = greeting(c, s, report=asks or s.known_to_us)
    return _kindly(c, s, (who,), warnings(c, s))


def _ask_which(c: Conversation, s: Situation) -> Step:
    c = replace(c, state=State.WHICH, homes=s.homes, current=HOMES, repeats=0)
    return _ask(c, s, (say("greeting_no_place", c.language), *warnings(c, s)))


def _ask_place(c: Conversation, s: Situation) -> Step:
    c = replace(c, state=State.PLACE, homes=(), current=PLACE, repeats=0)
    lead = (say("greeting_no_place", c.language), *warnings(c, s))
    return _ask(c, s, lead, again=s.street_unknown)


def _ask(c: Conversation, s: Situation, lead: tuple[str, ...], *, again: bool = False) -> Step:
    out = open_question(c, s, again=again)
    if out is None:  # pragma: no cover  callers have just set the question
        return Step(c)
    return Step(c, pack(lead, out), asking_timers())


def _once_more(c: Conversation, s: Situation) -> Step:
    if c.repeats:
        return person(c, s)
    return _ask(replace(c, repeats=1), s, (), again=True)


def placed(c: Conversation, s: Situation) -> Step:
    """A text after we asked where somebody lives."""
    if len(s.homes) == 1:
        return _greet(_at_home(c, s.homes[0]), s)
    if s.homes:
        return _ask_which(c, s)
    if s.place_told:
        # The half that is missing; a door that is not in the building is asked about once.
        repeats = 1 if c.building and c.door else 0
        return _ask(replace(c, repeats=repeats), s, ())
    return _once_more(c, s)


def place_on(c: Conversation, s: Situation) -> Step:
    """More of the trouble in place of where somebody lives: noted, and asked once more."""
    if s.homes or s.place_told:
        return placed(c, s)
    return _ask(c, s, (say("noted_short", c.language),))


def home_on(c: Conversation, s: Situation) -> Step:
    """More of the trouble in place of which home it is: noted, and asked once more."""
    if len(s.homes) == 1:
        return chosen(c, s)
    return _ask(c, s, (say("noted_short", c.language),))


def chosen(c: Conversation, s: Situation) -> Step:
    """A text after we asked which of several homes it is."""
    if len(s.homes) == 1:
        return _greet(_at_home(c, s.homes[0]), s)
    if s.answer in (UNKNOWN, "0"):
        return _ask_place(c, s)
    home = _picked(c.homes, s.answer or "")
    return _once_more(c, s) if home is None else _greet(_at_home(c, home), s)


def _picked(homes: tuple[tuple[str, str], ...], answer: str) -> tuple[str, str] | None:
    if answer.isascii() and answer.isdecimal() and 1 <= int(answer) <= len(homes):
        return homes[int(answer) - 1]
    same = [home for home in homes if home[1].casefold() == answer.casefold()]
    return same[0] if len(same) == 1 else None


def prompt(c: Conversation, s: Situation) -> Step:
    """A text that says nothing we know of, with nothing open: ask what is wrong.

    Nobody is reminded of it: there is no report that waits for the answer.
    """
    return _prompted(_asked_what(c), s, ())


def doubted(c: Conversation, s: Situation) -> Step:
    """ "Heating is working", of whom we know no trouble: a "not" may be lost in it."""
    return _prompted(_asked_what(c), s, (say("well_doubted", c.language),))


def aside(c: Conversation, s: Situation) -> Step:
    """What was asked in passing is answered; a question that is out stays out, and is put again."""
    lead = _asides(c, s)
    out = open_question(c, s)
    if out is None and not (s.reference and lead):
        return _prompted(_asked_what(c), s, ())
    if "who" in s.asides:
        lead = (greeting(c, s, report=False), *lead)
    return Step(c, pack(lead[:-1], Say(lead[-1])) if out is None else pack(lead, out))


def _asked_what(c: Conversation) -> Conversation:
    return replace(c, state=State.WHAT, asked=(KIND,), current=KIND, repeats=0)


def _prompted(c: Conversation, s: Situation, lead: tuple[str, ...]) -> Step:
    out = open_question(c, s)
    if out is None:  # pragma: no cover  the question has just been set
        return Step(c)
    return Step(c, pack((greeting(c, s, report=False), *_asides(c, s), *lead), out))


def named(c: Conversation, s: Situation) -> Step:
    """Somebody has said what is wrong, or says that it is none of what we can ask about."""
    if s.answer in (UNKNOWN, Kind.OTHER.value):
        return person(c, s)
    if not s.kinds:
        return unnamed(c, s)
    if c.home is None or (len(s.homes) == 1 and s.homes[0] != c.home):
        return begin(c, s)
    return _kindly(replace(c, current=None, repeats=0), s, (), warnings(c, s))


def unnamed(c: Conversation, s: Situation) -> Step:
    """Still not said what is wrong: the same in other words, once; then a person."""
    if c.repeats:
        return person(c, s)
    asked = _ask(replace(c, repeats=1), s, (), again=True)
    return asked if s.reference else replace(asked, timers=())
