""" "Sorry, I meant 3A": the report of a phone that is not on file goes to the door that it means."""

from __future__ import annotations

import re
from dataclasses import replace

from rules.asking.conversation import Heard
from rules.asking.short_words import names_the_right_door, put_right
from service.usecases.desk.find_home import DOORS, door_of
from service.usecases.hearing.turn import Turn
from service.usecases.loading.page_names import is_page
from service.usecases.loading.whose_phone import Home, is_known
from service.usecases.rows.complaint_rows import find_complaint, place_complaint

__all__ = ["hear_other_door"]

_NOT_THAT = re.compile(rf"\b(?:not|no) {DOORS.pattern}", re.IGNORECASE)


def hear_other_door(turn: Turn) -> bool:
    """Move the report to the door that the text puts in place of the one told before; whether it does.

    Only what nobody has confirmed is moved by a text, and a danger never: there a person decides.
    """
    at, sender = turn.conversation.home, turn.message.from_number
    if at is None or turn.dangers or is_page(sender) or is_known(turn.session, sender):
        return False
    home = _meant(turn, at)
    report = find_complaint(turn.session, sender, at) if home is not None else None
    if home is None or report is None or report.confirmed or report.danger:
        return False
    place_complaint(turn.session, turn.now, report, home)
    turn.conversation = replace(turn.conversation, home=home)
    turn.homes, turn.new_here, turn.event = (home,), True, Heard.NOTED
    turn.reading, turn.volunteered = replace(turn.reading, answer=None), ()
    return True


def _meant(turn: Turn, at: Home) -> Home | None:
    text = turn.message.text or ""
    if not (put_right(text) or names_the_right_door(text)):
        return None
    doors = DOORS.findall(_NOT_THAT.sub("", text))
    named = {door_of(turn.session, at[0], door) for door in doors} - {None, at[1]}
    return (at[0], str(named.pop())) if len(named) == 1 else None
