"""Which homes a text may be about: none known, one, or several to choose from.

Theory of operation
-------------------
A phone on file means one of its own homes. An unknown one may name any, in one text or in parts: what
it has said of the street and of the door is kept until both are known, so that only what is missing is
asked. Asking again is better than a ticket for the wrong door.
"""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy.orm import Session

from rules.asking.conversation import HOMES, PLACE, Conversation, State
from rules.plant.address import building_meant, names_a_street, tells_an_address
from rules.reading import Reading, read
from service.usecases.desk.find_home import (
    DOORS,
    building_named,
    door_of,
    names_of,
    same_apartment,
)
from service.usecases.hearing.no_answer import of_this_home, tells_of_others
from service.usecases.loading.whose_phone import Home, homes_known

__all__ = ["Where", "where_meant"]

_LONGEST_DOOR = 12  # characters of an answer that is nothing but a door


@dataclass(frozen=True, slots=True)
class Where:
    """The homes a text may be about; else what is known of the one that an unknown phone means."""

    homes: tuple[Home, ...] = ()
    building: str | None = None
    door: str | None = None
    street_unknown: bool = False  # the text names a street that is none of our buildings


def where_meant(
    session: Session, sender: str, conversation: Conversation, reading: Reading, text: str
) -> Where:
    """Where the home is that a text of this number is about, as far as that is known."""
    known = homes_known(session, sender)
    if known:
        return Where(_of_its_own(session, known, conversation, reading, text))
    if conversation.home is not None and conversation.current != PLACE:
        return Where((conversation.home,))
    where = _named(session, conversation, reading, text)
    if where.building is not None and where.door is not None:
        door = door_of(session, where.building, where.door)
        if door is not None:
            return Where(((where.building, door),))
    return Where((conversation.home,)) if conversation.home is not None else where


def _of_its_own(
    session: Session,
    known: tuple[Home, ...],
    conversation: Conversation,
    reading: Reading,
    text: str,
) -> tuple[Home, ...]:
    named = _named_of(session, known, reading, text)
    if named is not None:
        return (named,)
    if conversation.current == HOMES and reading.answer is not None:
        return _picked(conversation.homes, reading.answer.means) or known
    if len(known) > 1 and conversation.home in known and _is_in_midst(conversation):
        return (conversation.home,) if conversation.home else ()
    return known


def _named_of(
    session: Session, known: tuple[Home, ...], reading: Reading, text: str
) -> Home | None:
    """The one of a number's own homes that a text names; "and 2A" names it too, if 2A is one of them."""
    place = reading.place
    doors = [place.apartment] if place is not None and place.apartment else []
    if not doors and len(known) > 1:
        doors = DOORS.findall(text)
    fitting = [h for h in known if any(same_apartment(h[1], door) for door in doors)]
    if len(fitting) > 1 and place is not None:
        # "12 Elm Street 1A" of somebody who also has a 1A elsewhere.
        building = building_meant(place.words, names_of(session, fitting))
        fitting = [h for h in fitting if h[0] == building]
    return fitting[0] if len(fitting) == 1 else None


def _named(session: Session, conversation: Conversation, reading: Reading, text: str) -> Where:
    """What an unknown phone has said of its home so far, this text included."""
    place, before = reading.place, conversation.building
    if conversation.current == PLACE and before is not None and len(text) <= _LONGEST_DOOR:
        door = door_of(session, before, text)
        if door is not None:
            return Where((), before, door)
    if place is not None and tells_of_others(text):
        place = read(of_this_home(text)).place  # "4B has none either" is another's door
    said = place.words if place is not None else ""
    building = building_named(session, said) if place is not None else None
    was_asked = conversation.current == PLACE
    names = names_a_street if was_asked else tells_an_address  # unasked, a number may be anything
    street_unknown = building is None and names(said)
    building = building or (None if street_unknown else before)
    door = place.apartment if place is not None else None
    return Where((), building, door or conversation.door, street_unknown)


def _picked(homes: tuple[Home, ...], means: str) -> tuple[Home, ...]:
    if means.isascii() and means.isdecimal() and 1 <= int(means) <= len(homes):
        return (homes[int(means) - 1],)
    return ()


def _is_in_midst(conversation: Conversation) -> bool:
    return conversation.state not in {State.NEW, State.CLOSED, State.WHICH, State.PLACE}
