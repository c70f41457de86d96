"""What a text says of the home itself: emitter, window, thermostat screen, rooms, oven."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from rules.model import EmitterHeat, Kind, Rooms
from rules.reading.line import Found, Line
from rules.reading.phrases import Section, section
from rules.reading.scope import is_negated
from rules.reading.seen import Span
from rules.reading.words import Words

__all__ = ["OVEN", "Home", "home_in"]

OVEN = "oven_in_use"


@dataclass(frozen=True, slots=True)
class Home:
    """The state of the home as told.

    ``feels_emitter`` says that an emitter or a pipe is named together with how warm it may be,
    ``home_is`` that the home itself is said to be cold or hot, which is all of it.
    """

    emitter: EmitterHeat | None
    window_open: bool | None
    thermostat_blank: bool | None
    rooms: Rooms | None
    oven_in_use: bool
    feels_emitter: bool
    home_is: bool
    spans: tuple[Span, ...]


_NOTHING_TOLD = Home(
    None, None, None, None, oven_in_use=False, feels_emitter=False, home_is=False, spans=()
)


class _Looker:
    def __init__(self, words: Words) -> None:
        self.words = words
        self.seen: Section = section("home")
        self.line: Line = self.seen.line(words)
        self.spans: list[Span] = []

    def first(self, name: str, *, negation_matters: bool = True) -> Found | None:
        for found in self.seen.standing(self.line, name):
            if not (negation_matters and is_negated(self.line, found)):
                return found
        return None

    def note(self, found: Found | None, what: str) -> bool:
        if found is not None:
            span = Span(self.words[found.first].start, self.words[found.last].end, what)
            self.spans.append(span)
        return found is not None


def home_in(words: Words, kinds: Collection[Kind]) -> Home:
    """What is said of the home; ``kinds`` decide which of two radiators or rooms is meant."""
    looker = _Looker(words)
    if not looker.line.may_say_anything():
        return _NOTHING_TOLD
    emitter = _emitter(looker, kinds)
    window = _window(looker)
    blank = _blank(looker)
    rooms = _rooms(looker, kinds)
    oven = looker.note(looker.first("oven"), OVEN)
    feels = looker.seen.stands(looker.line, "emitter_felt")
    home_is = rooms is Rooms.ALL and looker.seen.stands(looker.line, "home_is")
    return Home(emitter, window, blank, rooms, oven, feels, home_is, tuple(looker.spans))


def _emitter(looker: _Looker, kinds: Collection[Kind]) -> EmitterHeat | None:
    told: dict[EmitterHeat, Found] = {}
    for heat in EmitterHeat:
        found = looker.first(f"emitter_{heat}", negation_matters=heat is EmitterHeat.COLD)
        if found is not None and not (heat is not EmitterHeat.COLD and _denied(looker, found)):
            told[heat] = found
    hardly = looker.first("emitter_hardly_warm", negation_matters=False)
    if hardly is not None:
        told.setdefault(EmitterHeat.LUKEWARM, hardly)
    if not told:
        return None
    order = [EmitterHeat.LUKEWARM, EmitterHeat.COLD, EmitterHeat.HOT]
    if Kind.TOO_HOT in kinds and Kind.TOO_COLD not in kinds:
        order = [EmitterHeat.HOT, EmitterHeat.LUKEWARM, EmitterHeat.COLD]
    heat = next(heat for heat in order if heat in told)
    looker.note(told[heat], f"emitter:{heat.value}")
    return heat


def _denied(looker: _Looker, found: Found) -> bool:
    """ "Not hot" is no statement that it is hot."""
    return is_negated(looker.line, Found(found.last, found.last)) or is_negated(looker.line, found)


def _window(looker: _Looker) -> bool | None:
    opened = looker.first("window_open") or looker.first("window_open_even_so")
    if looker.note(opened, "window_open"):
        return True
    shut = looker.first("window_closed", negation_matters=False)
    return False if looker.note(shut, "window_closed") else None


def _blank(looker: _Looker) -> bool | None:
    if looker.note(looker.first("blank"), "thermostat_blank"):
        return True
    if not any(map(looker.line.may_say, ("blank_false", "blank_false_alone"))):
        return None
    name = "blank_false"
    if not looker.line.names("SCREEN", "TSTAT"):
        # A detector has a battery and numbers of its own.
        name = "" if looker.line.names("ALARM") else "blank_false_alone"
    shows = looker.first(name, negation_matters=False) if name else None
    return False if looker.note(shows, "thermostat_shows") else None


def _rooms(looker: _Looker, kinds: Collection[Kind]) -> Rooms | None:
    everywhere = looker.first("all_rooms", negation_matters=False)
    if looker.note(everywhere, "rooms:all"):
        return Rooms.ALL
    named = looker.first("room", negation_matters=False)
    if named is None:
        named = looker.first("room_bad_even_so", negation_matters=False)
    if looker.note(named, "rooms:some"):
        return Rooms.SOME
    if Kind.TOO_COLD in kinds or Kind.TOO_HOT in kinds:
        home = looker.first("home_named", negation_matters=False)
        if looker.note(home, "rooms:all"):
            return Rooms.ALL
    return None
