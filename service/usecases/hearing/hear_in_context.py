"""What a text means only together with the report that it belongs to."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace

from rules.asking.conversation import RIGHT_NOW, Heard
from rules.asking.danger_meant import danger_meant, is_denied
from rules.asking.questions import questions
from rules.asking.short_words import (
    asks_when,
    is_of_access,
    is_of_cold_water,
    is_of_others,
    is_plea,
    is_vain_visit,
    names_a_bad_time,
    nobody_came,
)
from rules.model import Kind, TopicId
from rules.reading import Answer, Reading
from service.usecases.hearing.turn import Turn

__all__ = ["hear_in_context"]

# What somebody wants to stop who writes "stop it".
STOPPABLE = frozenset({Kind.NOISE, Kind.LEAK, Kind.TOO_HOT})

_MAY_BE_ACCESS = frozenset({Heard.COMPLAINT, Heard.OTHER, Heard.THANKS, Heard.STATUS})
_MAY_SAY_ELSE = frozenset({Heard.ANSWER, Heard.COMPLAINT, Heard.OTHER, Heard.THANKS})
# A first report that also asks when somebody comes, or thanks, is greeted like any other.
_BESIDE = frozenset({Heard.STATUS, Heard.THANKS, Heard.SLIP})


@dataclass(frozen=True, slots=True, kw_only=True)
class _Meant:
    """What is otherwise than the words alone tell; what is None stays."""

    event: Heard | None = None
    reading: Reading | None = None
    volunteered: tuple[Answer, ...] | None = None
    dangers: tuple[str, ...] = ()


_Case = Callable[[Turn, str, Collection[Kind]], _Meant | None]


def hear_in_context(turn: Turn) -> None:
    """Note in the turn what words alone do not tell of a report: the first case that holds."""
    if turn.complaint is None or turn.dangers:
        return
    text, kinds = turn.message.text or "", [Kind(kind) for kind in turn.complaint.kinds]
    meant = next(filter(None, (case(turn, text, kinds) for case in _CASES)), _Meant())
    turn.event = meant.event or turn.event
    turn.reading = meant.reading or turn.reading
    turn.dangers = meant.dangers or turn.dangers
    if meant.volunteered is not None:
        turn.volunteered = meant.volunteered


def _danger(_turn: Turn, text: str, kinds: Collection[Kind]) -> _Meant | None:
    """ "It is near the outlet now", of a leak."""
    dangers = danger_meant(text, kinds)
    return _Meant(event=Heard.COMPLAINT, dangers=dangers) if dangers else None


def _denial(turn: Turn, text: str, kinds: Collection[Kind]) -> _Meant | None:
    """ "No, not near a plug" denies a danger and answers nothing else."""
    if turn.event not in _MAY_SAY_ELSE or turn.reading.kinds or not is_denied(text, kinds):
        return None
    reading = replace(turn.reading, answer=None)
    return _Meant(event=Heard.NOTED, reading=reading, volunteered=())


def _cold_water(turn: Turn, text: str, kinds: Collection[Kind]) -> _Meant | None:
    """ "Ice cold" is the water, where nothing but hot water is reported."""
    if turn.reading.answer is not None or not is_of_cold_water(text, kinds):
        return None
    reading = replace(turn.reading, kinds=(), emitter=None)
    return _Meant(reading=reading, volunteered=(Answer(TopicId("q_dhw"), "none"),))


def _what_works(turn: Turn, text: str, kinds: Collection[Kind]) -> _Meant | None:
    """ "The heat is fine" ends no report of hot water."""
    others = turn.event is Heard.RESOLVED and is_of_others(text, kinds)
    return _Meant(event=Heard.COMPLAINT) if others else None


def _when_it_bangs(turn: Turn, text: str, kinds: Collection[Kind]) -> _Meant | None:
    """ "When the heat comes on" says when it bangs, and does not ask when heat will come.

    "When is someone coming, it's been 3 days" asks all the same.
    """
    told = any(
        a.topic != "q_start" and not questions()[a.topic].told_with.isdisjoint(kinds)
        for a in turn.volunteered
    )
    is_news = turn.event is Heard.STATUS and told and "?" not in text
    return _Meant(event=Heard.COMPLAINT) if is_news else None


def _when(turn: Turn, text: str, _kinds: Collection[Kind]) -> _Meant | None:
    """ "When?" and "nobody came", from somebody who waits for us, answer no question."""
    if turn.opened or turn.event not in _MAY_SAY_ELSE:
        return None
    judging = turn.conversation.current == RIGHT_NOW  # then it is a "no"
    waits = not judging and nobody_came(text)
    return _Meant(event=Heard.STATUS) if waits or asks_when(text) else None


def _vain_visit(turn: Turn, text: str, _kinds: Collection[Kind]) -> _Meant | None:
    """ "The guy came and left": noted, and no failed answer; after a repair it is a "no"."""
    told = turn.reading.answer is not None or bool(turn.reading.kinds)
    asked = turn.event in {Heard.OTHER, Heard.COMPLAINT} and turn.conversation.current != RIGHT_NOW
    return _Meant(event=Heard.NOTED) if asked and not told and is_vain_visit(text) else None


def _access(turn: Turn, text: str, _kinds: Collection[Kind]) -> _Meant | None:
    """How to get in and when, and nothing of the home; "do not come tomorrow" takes no report back."""
    not_then = turn.event is Heard.CANCEL and names_a_bad_time(text)
    asks = turn.event is Heard.STATUS and "?" in text
    says = turn.event in _MAY_BE_ACCESS and not (turn.reading.kinds or asks) and is_of_access(text)
    return _Meant(event=Heard.NOTED) if not_then or says else None


def _first(turn: Turn, _text: str, _kinds: Collection[Kind]) -> _Meant | None:
    """Whoever reports is greeted, whatever else the text wants."""
    return _Meant(event=Heard.COMPLAINT) if turn.opened and turn.event in _BESIDE else None


def _neighbor_too(turn: Turn, _text: str, _kinds: Collection[Kind]) -> _Meant | None:
    """ "My neighbor has no heat" of somebody who has reported tells more of the own report."""
    if turn.event is not Heard.FOR_ANOTHER:
        return None
    return _Meant(event=Heard.COMPLAINT, reading=replace(turn.reading, kinds=()))


def _plea(_turn: Turn, text: str, kinds: Collection[Kind]) -> _Meant | None:
    """ "Make it stop", where something can."""
    pleads = is_plea(text) and not STOPPABLE.isdisjoint(kinds)
    return _Meant(event=Heard.PLEA) if pleads else None


_CASES: tuple[_Case, ...] = (
    _danger,
    _denial,
    _cold_water,
    _what_works,
    _when_it_bangs,
    _when,
    _vain_visit,
    _access,
    _first,
    _neighbor_too,
    _plea,
)
