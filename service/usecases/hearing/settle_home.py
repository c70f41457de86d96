"""Which homes a text may be about: none known, one, or several to choose from."""

from __future__ import annotations

from sqlalchemy.orm import Session

from rules.asking.conversation import HOMES, PLACE, Conversation, State
from rules.plant.address import building_meant
from rules.reading import Reading
from service.usecases.desk.find_home import find_home, names_of, same_apartment
from service.usecases.loading.whose_phone import Home, homes_known

__all__ = ["homes_meant"]


def homes_meant(
    session: Session, sender: str, conversation: Conversation, reading: Reading
) -> tuple[Home, ...]:
    """The homes a text of this number may be about."""
    known = homes_known(session, sender)
    named = _named_home(session, known, conversation, reading)
    if named is not None:
        return (named,)
    if conversation.current == HOMES and reading.answer is not None:
        return _picked(conversation.homes, reading.answer.means) or known
    if len(known) <= 1:
        return known or ((conversation.home,) if conversation.home else ())
    if conversation.home in known and _is_in_midst(conversation):
        return (conversation.home,) if conversation.home else ()
    return known


def _named_home(
    session: Session, known: tuple[Home, ...], conversation: Conversation, reading: Reading
) -> Home | None:
    """The home a text names: one of the number's own, or for an unknown number any that fits."""
    place = reading.place
    if place is None:
        return None
    if known:
        apartment = place.apartment
        fitting = [h for h in known if apartment and same_apartment(h[1], apartment)]
        if len(fitting) > 1:  # "12 Elm Street 1A" of somebody who also has a 1A elsewhere
            building = building_meant(place.words, names_of(session, fitting))
            fitting = [h for h in fitting if h[0] == building]
        return fitting[0] if len(fitting) == 1 else None
    if conversation.home is not None and conversation.current != PLACE:
        return None
    return find_home(session, place.words, place.apartment)


def _picked(homes: tuple[Home, ...], means: str) -> tuple[Home, ...]:
    if means.isascii() and means.isdecimal() and 1 <= int(means) <= len(homes):
        return (homes[int(means) - 1],)
    return ()


def _is_in_midst(conversation: Conversation) -> bool:
    return conversation.state not in {State.NEW, State.CLOSED, State.WHICH, State.PLACE}
