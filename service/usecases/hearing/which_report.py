"""Which report a text belongs to: found, placed, opened, opened again, or ended by it."""

from __future__ import annotations

from dataclasses import replace

from rules.asking.conversation import KIND, RIGHT_NOW, Heard, State
from rules.asking.meant import kind_of_number
from rules.asking.short_words import is_back_again, is_there_again, says_it_is_well
from rules.model import Intent, Kind
from service.store.tables import Complaint
from service.usecases.diagnosing.not_held import reopen_after_work
from service.usecases.diagnosing.rediagnose import rediagnose_if_possible
from service.usecases.hearing.turn import Turn
from service.usecases.hearing.warming_up import waits_for_warmth
from service.usecases.loading.whose_phone import Home
from service.usecases.rows.carried_over import (
    asked_of_home,
    called_over,
    confirm_repair,
    repaired_lately,
)
from service.usecases.rows.complaint_rows import (
    end_complaint,
    find_complaint,
    last_repaired,
    open_complaint,
    place_complaint,
)
from service.usecases.rows.ticket_rows import record_event

__all__ = ["end_report", "find_report"]

# What may say that a trouble which was over is there again.
MAY_GO_ON = frozenset({Heard.COMPLAINT, Heard.ANSWER, Heard.OTHER})
# What speaks of trouble only to end it, or of nothing but our texts.
NO_REPORT = frozenset(
    {Heard.STOP, Heard.START, Heard.RESOLVED, Heard.CANCEL, Heard.HELP, Heard.FOR_ANOTHER}
    | {Heard.DUST}
)


def find_report(turn: Turn) -> None:
    """The complaint this text belongs to; opened, placed or reopened as the text demands."""
    session, now, sender = turn.session, turn.now, turn.message.from_number
    home = turn.homes[0] if len(turn.homes) == 1 else None
    unplaced = find_complaint(session, sender, None)
    if home is not None and unplaced is not None:
        turn.complaint = place_complaint(session, now, unplaced, home)
        turn.placed = True
        turn.new_here = not turn.complaint.confirmed
    else:
        turn.complaint = find_complaint(session, sender, home)
    if turn.complaint is None:
        _reopen(turn, home)
    if turn.warming is not None:
        return
    if turn.complaint is None:
        _as_before(turn, home)
    if turn.complaint is None and turn.event is Heard.RESOLVED:
        _doubt(turn, home)
    if turn.complaint is None and _reports(turn):
        turn.complaint = open_complaint(session, now, sender, home)
        turn.opened = True
        turn.new_here = home is not None and not turn.complaint.confirmed
        kept = (KIND,) if turn.conversation.current == KIND else ()
        turn.conversation = replace(turn.conversation, asked=kept, helped=(), reminded=False)
    if turn.complaint is not None:
        turn.conversation = asked_of_home(session, turn.complaint, sender, turn.conversation)


def _reports(turn: Turn) -> bool:
    """Whether a text says that something is wrong, whatever else it wants."""
    if turn.dangers or (turn.event is Heard.COMPLAINT and turn.repaired_since is None):
        return True
    told = bool(turn.reading.kinds) and turn.repaired_since is None
    return told and turn.event not in NO_REPORT


def _reopen(turn: Turn, home: Home | None) -> None:
    """The repair did not help: "no" to the question about it, or the same trouble before or after.

    To the question itself any trouble is an answer; before it and later another one is a new report.
    What was written before the repair and came after it says nothing of the repair: the question, which
    is out or will be, asks for it.
    """
    was_asked = turn.conversation.current == RIGHT_NOW
    answer = turn.reading.answer
    if was_asked and answer is not None and answer.means == "no":
        found = _asked_about(turn, home)
    elif turn.event is not Heard.COMPLAINT:
        return
    elif turn.conversation.state is State.REPAIRED:
        found = _asked_about(turn, home)
    else:
        found = repaired_lately(turn.session, turn.now, turn.message.from_number, home)
        kinds = {kind.value for kind in turn.reading.kinds}
        if found is None or turn.dangers or (kinds and kinds.isdisjoint(found.kinds)):
            return
    if found is None:
        return
    if not _is_before(turn, found) and waits_for_warmth(turn, found):
        return
    if _is_before(turn, found):
        turn.repaired_since = found if was_asked else None
        _note_late(turn, found)
        return
    reopen_after_work(turn.session, turn.now, found, source=turn.message.id, at=turn.said.at)
    turn.complaint = found
    at = turn.conversation.home
    if found.building_id is not None and found.apartment is not None:
        at = (found.building_id, found.apartment)
    turn.conversation = replace(
        turn.conversation,
        state=State.REPAIRED,
        current=RIGHT_NOW,
        asked=(),
        helped=(),
        home=at,
        left=None,
        told_of_work=True,
    )


def _as_before(turn: Turn, home: Home | None) -> None:
    """ "It is off again", after the household has called it over: the same trouble, reported anew."""
    text = turn.message.text or ""
    # "Never mind, it is off again": what is taken back is that it was over.
    goes_on = turn.event in MAY_GO_ON or (turn.event is Heard.CANCEL and is_there_again(text))
    if not goes_on or turn.reading.kinds or turn.dangers:
        return
    if turn.conversation.current not in (None, KIND) or not is_back_again(text):
        return
    found = called_over(turn.session, turn.now, turn.message.from_number, home)
    if found is not None:
        kinds = tuple(Kind(kind) for kind in found.kinds)
        turn.reading, turn.event = replace(turn.reading, kinds=kinds), Heard.COMPLAINT


def _doubt(turn: Turn, home: Home | None) -> None:
    """Nobody writes first to say that all is well: who tells how warm it is tells of trouble."""
    session, now, sender = turn.session, turn.now, turn.message.from_number
    lately = repaired_lately(session, now, sender, home) or called_over(session, now, sender, home)
    turn.over_lately = lately is not None
    if turn.over_lately or turn.conversation.current in (KIND, RIGHT_NOW):
        return
    room, setting = turn.reading.room_temp, turn.reading.setpoint
    if (room is None and setting is None) or says_it_is_well(turn.message.text or ""):
        return
    kind = None if room is None else kind_of_number(room)
    kinds = turn.reading.kinds if kind is None else (kind,)
    turn.reading, turn.event = replace(turn.reading, kinds=kinds), Heard.COMPLAINT


def _is_before(turn: Turn, repaired: Complaint) -> bool:
    """Whether the text was written before the repair."""
    return repaired.closed_at is not None and turn.said.is_before(repaired.closed_at)


def _note_late(turn: Turn, repaired: Complaint) -> None:
    if repaired.ticket_id is not None:
        body = {"complaint": repaired.id, "message": turn.message.id}
        record_event(turn.session, turn.now, repaired.ticket_id, "came_late", body)


def _asked_about(turn: Turn, home: Home | None) -> Complaint | None:
    """The report whose repair this phone judges: its own, else one of its home."""
    sender = turn.message.from_number
    own = last_repaired(turn.session, sender)
    return own or repaired_lately(turn.session, turn.now, sender, home)


def end_report(turn: Turn, *, ends: bool) -> None:
    """The tenant says that all is well, or takes the report back; ``ends`` is the rules' word."""
    complaint = turn.complaint
    if complaint is None:
        _is_right(turn)
        return
    if not ends or complaint.danger:
        return  # nobody ends a danger by text; a person looks at it
    outcome = "cancelled" if turn.reading.intent is Intent.CANCEL else "resolved"
    end_complaint(turn.session, turn.now, complaint, outcome)
    rediagnose_if_possible(turn.session, turn.now, complaint.building_id)


def _is_right(turn: Turn) -> None:
    """After a repair, asked about it or not, the household says that it helped."""
    was_asked = turn.conversation.current == RIGHT_NOW
    answer = turn.reading.answer
    if not (turn.event is Heard.RESOLVED or (was_asked and answer and answer.means == "yes")):
        return
    sender = turn.message.from_number
    home = turn.homes[0] if len(turn.homes) == 1 else None
    lately = None if was_asked else repaired_lately(turn.session, turn.now, sender, home)
    repaired = _asked_about(turn, home) if was_asked else lately
    if repaired is not None and not _is_before(turn, repaired):
        confirm_repair(turn.session, turn.now, repaired)
        rediagnose_if_possible(turn.session, turn.now, repaired.building_id)
