""" "The other one too", from somebody with several homes: the same trouble in another of them."""

from __future__ import annotations

from dataclasses import replace

from rules.asking.conversation import Heard
from rules.asking.short_words import is_of_the_other, says_too
from rules.model import Kind
from service.usecases.hearing.turn import Turn
from service.usecases.loading.whose_phone import Home, homes_known
from service.usecases.rows.complaint_rows import find_complaint

__all__ = ["hear_of_other_home"]

MAY_MEAN_IT = frozenset({Heard.ANSWER, Heard.COMPLAINT, Heard.OTHER, Heard.THANKS})


def hear_of_other_home(turn: Turn) -> None:
    """Note in the turn that it reports of another home of the phone what was reported of the first."""
    text, sender = turn.message.text or "", turn.message.from_number
    if turn.dangers or turn.reading.kinds or turn.event not in MAY_MEAN_IT or not says_too(text):
        return
    here = turn.conversation.home
    there = _other_home(turn, here)
    reported = find_complaint(turn.session, sender, here) if there is not None else None
    if there is None or reported is None:
        return
    turn.homes, turn.event = (there,), Heard.COMPLAINT
    turn.reading = replace(
        turn.reading, kinds=tuple(Kind(kind) for kind in reported.kinds), answer=None
    )
    turn.volunteered = ()  # "4B has none either" says nothing of neighbors


def _other_home(turn: Turn, here: Home | None) -> Home | None:
    own = homes_known(turn.session, turn.message.from_number)
    others = [home for home in own if home != here]
    if here not in own or not others:
        return None
    if turn.homes and turn.homes[0] != here and len(turn.homes) == 1:
        return turn.homes[0]
    only = len(others) == 1 and is_of_the_other(turn.message.text or "")
    return others[0] if only else None
