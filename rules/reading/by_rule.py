"""What the rules alone make of a text.

Theory of operation
-------------------
Each of the other rooms of this package looks at the words for its own observations. Kinds are kept only
where the intent leaves them current: what is called off or mended is no complaint. Numbers alone make
one: a reading two degrees or more away from the setting, or far from what any home is kept at. Of
dangers the rules know those that signs tell of.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from rules.model import Intent, Kind, TopicId
from rules.reading.answers import answer_to
from rules.reading.danger import Danger
from rules.reading.degrees import Degrees, degrees_in, is_at_setting, kinds_of_degrees
from rules.reading.home import Home, home_in
from rules.reading.place import apartment_and_words
from rules.reading.politeness import without_politeness
from rules.reading.seen import Answer, Place, Span
from rules.reading.talk import Talk
from rules.reading.trouble import Trouble, trouble_in
from rules.reading.words import Words

__all__ = ["NO_KINDS", "ByRule", "Parts", "by_rule"]

_WISHING_WELL = frozenset({"good", "buen", "buenos", "buenas", "gm"})
_OFF_SETTING = {Kind.TOO_COLD, Kind.TOO_HOT}
# Intents that leave nothing current.
NO_KINDS = (
    Intent.RESOLVED,
    Intent.CANCEL,
    Intent.STOP,
    Intent.START,
    Intent.HELP,
    Intent.OTHER,
)


@dataclass(frozen=True, slots=True)
class Parts:
    """What each room finds."""

    trouble: Trouble
    degrees: Degrees
    home: Home
    place: Place | None
    place_span: Span | None


@dataclass(frozen=True, slots=True)
class ByRule:
    """What rules find: the parts, and what they make of the whole; ``words`` are without courtesy.

    ``said`` are the lists of phrases of trouble that are said, and what numbers and screen say of it.
    """

    words: Words
    asked: TopicId | None
    signs: tuple[Danger, ...]
    talk: Talk
    parts: Parts
    answer: Answer | None
    intent: Intent
    kinds: tuple[Kind, ...]
    said: frozenset[str]


def by_rule(
    text: str, all_words: Words, signs: tuple[Danger, ...], asked: TopicId | None
) -> ByRule:
    """Everything the rules find in the words of a text; ``signs`` are the dangers that signs tell of."""
    words = without_politeness(all_words)
    talk = Talk(words)
    parts = _parts(text, words, signs, asked, over=talk.is_mended())
    answer = _answer(asked, words, parts)
    if answer is None and _WISHING_WELL.isdisjoint(all_words.texts):
        # "Morning" is a greeting, and the answer to "at what time of day?".
        answer = _answer(asked, all_words, parts)
    if talk.asks_when() and not words[0].text.isdecimal():
        answer = None  # "When do you come? My son is cold" does not say that it is set to cool
    kinds = _kinds(parts)
    facts = {
        "answers": answer is not None,
        "asked": asked is not None,
        "danger": bool(signs),
        "states": _states(parts),
        "at_setting": is_at_setting(parts.degrees),
    }
    intent = talk.intent(kinds, firm=_firm(parts), facts={f for f, is_so in facts.items() if is_so})
    if intent in NO_KINDS:
        kinds = ()
    elif intent is Intent.ANSWER:
        kinds = _asserted(parts, kinds, answer)
    said = parts.trouble.said.union(_said_besides(parts))
    return ByRule(words, asked, signs, talk, parts, answer, intent, kinds, said)


def _parts(
    text: str, words: Words, found: Sequence[Danger], asked: TopicId | None, *, over: bool
) -> Parts:
    trouble = trouble_in(words, found, over=over)
    told = {kind for kind, _, _ in trouble.kinds}
    degrees = _as_asked(degrees_in(words, told), asked)
    home = home_in(words, told | kinds_of_degrees(degrees, told))
    wants_place = asked in ("place", "apartment_which")
    place, span = apartment_and_words(text, words, asked=wants_place)
    return Parts(trouble, degrees, home, place, span)


def _firm(parts: Parts) -> set[Kind]:
    """The kinds told in words, or by a reading beside its setting."""
    told = {kind for kind, _, _ in parts.trouble.kinds}
    degrees = parts.degrees
    both = degrees.room is not None and degrees.setpoint is not None
    of_numbers = kinds_of_degrees(degrees, told) if both or degrees.between else set()
    return (told | of_numbers) - parts.trouble.only_at_emitter


def _states(parts: Parts) -> bool:
    """Whether a text tells how something in the home is."""
    home, degrees = parts.home, parts.degrees
    told = (home.emitter, home.window_open, home.thermostat_blank, degrees.room, degrees.setpoint)
    return any(value is not None for value in told)


def _as_asked(degrees: Degrees, asked: TopicId | None) -> Degrees:
    """An only number given to "what is it set to?" is the setting, to "what does it show?" a reading."""
    room, setpoint = degrees.room, degrees.setpoint
    if asked == "q_set" and setpoint is None:
        room, setpoint = None, room
    elif asked in ("q_read", "q_temp2") and room is None:
        room, setpoint = setpoint, None
    else:
        return degrees
    what = "setpoint" if asked == "q_set" else "room_temp"
    spans = tuple(Span(span.start, span.end, what) for span in degrees.spans[:1])
    return replace(degrees, room=room, setpoint=setpoint, spans=spans)


def _answer(asked: TopicId | None, words: Words, parts: Parts) -> Answer | None:
    if asked is None:
        return None
    home, degrees = parts.home, parts.degrees
    facts = {
        name: str(value)
        for name, value in (
            ("emitter", home.emitter),
            ("rooms", home.rooms),
            ("window_open", home.window_open),
            ("thermostat_blank", home.thermostat_blank),
            ("hot_water", _hot_water(parts)),
        )
        if value is not None
    }
    temperature = degrees.room or degrees.setpoint
    if asked == "q_set":
        temperature = degrees.setpoint
    return answer_to(asked, words, facts=facts, temperature=temperature, place=parts.place)


def _hot_water(parts: Parts) -> str | None:
    return "none" if any(kind is Kind.NO_HOT_WATER for kind, _, _ in parts.trouble.kinds) else None


def _kinds(parts: Parts) -> tuple[Kind, ...]:
    told = tuple(kind for kind, _, _ in parts.trouble.kinds)
    if _is_warm_though_off(parts):
        told = tuple(kind for kind in told if kind is not Kind.TOO_COLD)
    more = kinds_of_degrees(parts.degrees, told)
    kinds = (*told, *(kind for kind in Kind if kind in more))
    # "Other" that only filled a gap gives way to what the numbers say.
    if more and told == (Kind.OTHER,):
        return tuple(kind for kind in kinds if kind is not Kind.OTHER)
    if not kinds and parts.home.thermostat_blank:
        return (Kind.OTHER,)
    return tuple(kind for kind in Kind if kind in kinds)


def _is_warm_though_off(parts: Parts) -> bool:
    """ "The radiator is off and cold and still 85 degrees": too hot, not too cold."""
    return parts.trouble.only_heating_cold and kinds_of_degrees(parts.degrees, ()) == {Kind.TOO_HOT}


def _said_besides(parts: Parts) -> Iterator[str]:
    """What numbers and screen say of the kinds, as ``trouble`` names it."""
    of_numbers = kinds_of_degrees(parts.degrees, ())
    if _is_warm_though_off(parts):
        yield "warm though off"
    if is_at_setting(parts.degrees):
        yield "reads as set"
    elif of_numbers == _OFF_SETTING:
        yield "now one, now the other"
    elif of_numbers:
        yield "reads hot" if Kind.TOO_HOT in of_numbers else "reads cold"
    cold = any(kind is Kind.TOO_COLD for kind, _, _ in parts.trouble.kinds)
    if parts.home.thermostat_blank and (cold or of_numbers):
        yield "blank and off"


def _asserted(parts: Parts, kinds: tuple[Kind, ...], answer: Answer | None) -> tuple[Kind, ...]:
    """Of the kinds in an answer, those it asserts; how a radiator feels asserts none."""
    if answer is not None and len(kinds) == 1 and kinds[0] in (Kind.TOO_COLD, Kind.TOO_HOT):
        return ()
    if not parts.trouble.kinds:
        return ()
    # A buzzer named in an answer is no trouble with the buzzer.
    silent = parts.trouble.only_at_emitter | {Kind.OTHER}
    if parts.home.emitter is not None:
        silent |= {Kind.TOO_COLD, Kind.TOO_HOT}
    return tuple(kind for kind in kinds if kind not in silent)
