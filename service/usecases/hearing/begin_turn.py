"""One text before its report is looked for: what it says, from which home, in which language."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from sqlalchemy.orm import Session

from rules.asking.asides import asides_in
from rules.asking.conversation import Heard
from rules.asking.for_another import is_for_another
from rules.asking.short_words import has_no_thermostat
from rules.model import Language, TopicId
from rules.reading import Answer, Reading, volunteered
from service.store.tables import InboxMessage
from service.usecases.desk.confirm_sender import try_code
from service.usecases.desk.find_home import DOORS, door_of, same_apartment
from service.usecases.hearing.hear_late import read_as_of
from service.usecases.hearing.settle_home import where_meant
from service.usecases.hearing.turn import Turn
from service.usecases.hearing.web_ticked import as_ticked, event_of_form
from service.usecases.hearing.which_event import event_of
from service.usecases.loading.page_names import VIA_CALL, is_page
from service.usecases.loading.whose_phone import Home, homes_known, is_known
from service.usecases.rows.carried_over import conversation_now
from service.usecases.sending.limits import is_flood, may_answer_stranger
from service.usecases.sending.talk import conversation_of, number_row

__all__ = ["begin_turn"]

# One word may be borrowed or a choice that was offered; where nothing is told so many tell the language.
WORDS_THAT_TELL = 2
NO_SCREEN = Answer(TopicId("q_screen"), "no_screen")
KEYWORDS = frozenset({Heard.STOP, Heard.START, Heard.LANGUAGE, Heard.BACK, Heard.CODE})


def begin_turn(
    session: Session, now: datetime, message: InboxMessage, told: tuple[str, ...], *, plain: bool
) -> Turn:
    """A stored text as it is before its report is looked for.

    ``told`` are the dangers already answered, ``plain`` leaves the diagnosis out.
    """
    number = number_row(session, now, message.from_number)
    conversation = conversation_now(session, now, number, conversation_of(session, number))
    text = message.text or ""
    late = read_as_of(session, message, conversation)
    reading = as_ticked(message, late.reading)
    turn = Turn(
        session=session,
        now=now,
        message=message,
        number=number,
        conversation=conversation,
        reading=reading,
        event=Heard.OTHER,
        dangers=told or tuple(reading.danger_kinds),
        plain=plain,
        said=late.said,
        is_earlier=late.is_earlier,
        volunteered=(*late.unasked, *_unasked(text)),
    )
    turn.asides = asides_in(text, asked=conversation.current is not None)
    turn.silent = _gets_no_answer(turn)
    # A code is looked at before the homes, which it may settle.
    turn.code = None if turn.dangers else try_code(session, now, message.from_number, text)
    _settle_home(turn)
    event = event_of(
        text,
        reading,
        turn.conversation,
        danger=bool(turn.dangers),
        homes=turn.homes,
        code=turn.code,
        tells=turn.volunteered,
        beside=_beside(turn),
    )
    turn.event = event_of_form(message, event)
    if turn.event is Heard.ASIDE:  # "take the cover off the thermostat" tells nothing of its screen
        turn.reading, turn.volunteered = _only_asked(turn.reading), ()
    _settle_language(turn)
    return turn


def _unasked(text: str) -> tuple[Answer, ...]:
    """What it answers unasked; where there is no thermostat there is no screen."""
    told = volunteered(text)
    if not has_no_thermostat(text) or any(a.topic == NO_SCREEN.topic for a in told):
        return told
    return (*told, NO_SCREEN)


def _settle_home(turn: Turn) -> None:
    """Which homes it may be about; what an unknown phone has said of its own is remembered."""
    said, before = turn.message.text or "", turn.conversation
    where = where_meant(turn.session, turn.message.from_number, before, turn.reading, said)
    turn.homes, turn.street_unknown = where.homes, where.street_unknown
    if not where.homes:
        is_news = before.building is None and where.building is not None
        turn.place_told = is_news or (before.door is None and where.door is not None)
        turn.place_told = turn.place_told and not where.street_unknown
        turn.conversation = replace(before, building=where.building, door=where.door)


def _only_asked(reading: Reading) -> Reading:
    """Without what its words seem to tell of the home."""
    return replace(
        reading, emitter=None, window_open=None, thermostat_blank=None, rooms=None, noise=None
    )


def _beside(turn: Turn) -> Heard | None:
    """What it may be beside a report of this home."""
    if _is_of_another(turn):
        return Heard.FOR_ANOTHER
    return Heard.ASIDE if turn.asides else None


def _is_of_another(turn: Turn) -> bool:
    """Whether a phone on file, or a page, tells of no trouble but that of a home not its own."""
    sender, home = turn.message.from_number, turn.conversation.home
    own = homes_known(turn.session, sender)
    if is_page(sender) and home is not None:
        own = (home,)
    doors = _doors_named(turn, own)
    other_door = bool(doors) and not any(same_apartment(h[1], door) for h in own for door in doors)
    return bool(own) and is_for_another(turn.message.text or "", other_door=other_door)


def _doors_named(turn: Turn, own: Sequence[Home]) -> list[str]:
    """The apartment that a text is about, else those of the sender's own house that it names."""
    place, text = turn.reading.place, turn.message.text or ""
    if place is not None and place.apartment:
        return [place.apartment]
    named = {door_of(turn.session, home[0], door) for home in own for door in DOORS.findall(text)}
    return [door for door in named if door is not None]


def _gets_no_answer(turn: Turn) -> bool:
    sender = turn.message.from_number
    if is_flood(turn.session, turn.message):
        return True
    if turn.dangers or is_known(turn.session, sender):
        return False
    return not may_answer_stranger(turn.session, turn.now, turn.number, turn.conversation)


def _settle_language(turn: Turn) -> None:
    """Go on in the language of a text, if words of its own show which; a number shows nothing.

    What was told on the telephone is in the words of whoever wrote it down.
    """
    if turn.message.via == VIA_CALL:
        return
    speaks = turn.event in {Heard.COMPLAINT, Heard.HUMAN, Heard.STATUS, Heard.HELP}
    least = 1 if speaks else WORDS_THAT_TELL
    told = turn.reading.language_words >= least and turn.event not in KEYWORDS
    if told and turn.reading.language in {Language.EN, Language.ES}:
        language = turn.reading.language.value
        turn.conversation = replace(turn.conversation, language=language)
