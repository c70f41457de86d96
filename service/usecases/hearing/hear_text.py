"""What follows from one text: whose home, which complaint, what it says, tickets, the answer."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.asking.conversation import (
    Heard,
    Situation,
    Step,
    step,
)
from rules.asking.short_words import in_crisis
from rules.model import Intent
from service.store.tables import Complaint, InboxMessage, OutboxMessage
from service.usecases.desk.confirm_sender import ask_whose_phone
from service.usecases.desk.find_home import names_of
from service.usecases.desk.situation import check_minutes, situation_of
from service.usecases.desk.taking_over import hand_on, is_persons
from service.usecases.diagnosing.rediagnose import rediagnose
from service.usecases.hearing.begin_turn import begin_turn
from service.usecases.hearing.corrected import hear_correction
from service.usecases.hearing.hear_in_context import hear_in_context
from service.usecases.hearing.hear_late import let_newer_stand, says_nothing_now
from service.usecases.hearing.hear_left import hear_left
from service.usecases.hearing.on_hold import known_on_hold, wake_for_newcomer, wake_for_news
from service.usecases.hearing.other_door import hear_other_door
from service.usecases.hearing.other_home import hear_of_other_home
from service.usecases.hearing.read_text import reading_json
from service.usecases.hearing.take_in import take_in
from service.usecases.hearing.turn import Turn
from service.usecases.hearing.warming_up import join_repair, tell_to_wait
from service.usecases.hearing.which_event import language_asked_for
from service.usecases.hearing.which_report import end_report, find_report
from service.usecases.loading.page_names import is_page
from service.usecases.rows.alerts import DANGER
from service.usecases.rows.quiet_hours import is_fresh
from service.usecases.rows.services import SmsRules
from service.usecases.sending.outgoing import reply_json
from service.usecases.sending.talk import Cause, apply_step

__all__ = ["hear_text"]

# What the desk is told where it is more than that somebody wants a person.
ALERTS = {
    Heard.FOR_ANOTHER: "tells of another home",
    Heard.MOVED: "has moved out",
    Heard.STATUS: "waits past the time",
}

# What is done although the number gets no answer any more; the rest is only added to its report.
HEEDED = frozenset({Heard.STOP, Heard.START, Heard.RESOLVED, Heard.CANCEL, Heard.HUMAN, Heard.CODE})


def hear_text(
    session: Session,
    sms: SmsRules,
    now: datetime,
    message: InboxMessage,
    *,
    told: tuple[str, ...],
    plain: bool,
) -> dict[str, Any]:
    """Do everything that one stored text leads to; returns the answer the API gives.

    ``told`` are the dangers already answered, ``plain`` leaves the diagnosis out.
    """
    turn = begin_turn(session, now, message, told, plain=plain)
    hear_left(turn)
    if not hear_other_door(turn):
        hear_correction(turn)
    hear_of_other_home(turn)
    find_report(turn)
    let_newer_stand(turn)
    hear_in_context(turn)
    if turn.complaint is not None:
        known = known_on_hold(turn)
        take_in(turn, turn.complaint)
        wake_for_news(turn, known)
        join_repair(turn)
        if turn.warming is None:
            _rediagnose(turn)
            wake_for_newcomer(turn)
    if turn.complaint is not None and turn.new_here:
        ask_whose_phone(session, now, sms, turn.complaint, message.id)
    if turn.warming is not None:
        rows = tell_to_wait(turn, sms, turn.warming)
    else:
        rows = _answer(turn, sms, danger_told=bool(told))
    complaint = _its_report(turn)
    message.complaint_id = complaint.id if complaint is not None else None
    message.ticket_id = complaint.ticket_id if complaint is not None else None
    return {
        "message": message.id,
        "duplicate": False,
        "complaint": message.complaint_id,
        "ticket": message.ticket_id,
        "reading": reading_json(turn.reading),
        "replies": [reply_json(row) for row in [*_told_rows(turn), *rows]],
    }


def _its_report(turn: Turn) -> Complaint | None:
    return turn.warming.complaint if turn.warming else turn.complaint or turn.repaired_since


def _rediagnose(turn: Turn) -> None:
    complaint = turn.complaint
    if complaint is None:
        return
    turn.diagnosis = rediagnose(
        turn.session, turn.now, complaint.building_id, only=complaint.id, plain=turn.plain
    )
    turn.session.flush()


def _answer(turn: Turn, sms: SmsRules, *, danger_told: bool) -> list[OutboxMessage]:
    """Take the step of the conversation and what follows from it."""
    situation = _situation(turn)
    if turn.is_earlier and says_nothing_now(turn):
        turn.silent = True
    if turn.silent and not (turn.dangers or situation.crisis) and turn.event not in HEEDED:
        return []
    complaint = turn.complaint
    urgent = turn.dangers or situation.crisis
    if complaint is not None and is_persons(complaint, turn.event) and not urgent:
        hand_on(turn.session, turn.now, complaint, turn.message.id)
        return []
    taken = step(turn.conversation, turn.event, situation)
    cause = Cause(
        key=turn.message.id,
        message_id=turn.message.id,
        at_once=is_fresh(turn.message.received_at, turn.now),
        stops=turn.event is Heard.STOP,
        danger_told=danger_told,
        silent=turn.silent and turn.event is not Heard.STOP,
        alert=_alert(turn, situation, taken),
    )
    rows = apply_step(turn.session, turn.now, sms, turn.number, taken, turn.complaint, cause)
    end_report(turn, ends=taken.close_complaint)
    return rows


def _alert(turn: Turn, situation: Situation, taken: Step) -> str:
    """What the desk is told when the step needs a person."""
    if situation.crisis:
        return "may hurt themselves: call"
    if situation.danger:
        return DANGER + ", ".join(situation.danger)
    if taken.reopen:
        return "repair failed again"
    return ALERTS.get(turn.event, "wants a person")


def _situation(turn: Turn) -> Situation:
    reading = turn.reading
    wish = language_asked_for(reading)
    conversation = turn.conversation
    if conversation.home is None and len(turn.homes) == 1:
        conversation = replace(conversation, home=turn.homes[0])  # to say whose line it is
    if turn.event is Heard.LANGUAGE and wish is not None:
        conversation = replace(conversation, language=wish)  # times are told in it at once
    return replace(
        situation_of(
            turn.session,
            turn.now,
            conversation,
            turn.complaint,
            turn.diagnosis,
            on_page=is_page(turn.message.from_number),
        ),
        bare=reading.bare,
        opened=turn.opened,
        over_lately=turn.over_lately,
        told_more=turn.told_more,
        new_kinds=turn.new_kinds,
        place_told=turn.place_told,
        street_unknown=turn.street_unknown,
        check_minutes=check_minutes(turn.session, turn.now, turn.number),
        danger=turn.dangers,
        crisis=in_crisis(turn.message.text or ""),
        homes=turn.homes,
        building_names=names_of(turn.session, (*conversation.homes, *turn.homes)),
        code=turn.code,
        answer=reading.answer.means if reading.answer else None,
        oven_in_use=reading.oven_in_use,
        asides=turn.asides,
        asks_when=turn.event is Heard.ANSWER and reading.intent is Intent.STATUS_QUESTION,
        language=wish,
    )


def _told_rows(turn: Turn) -> list[OutboxMessage]:
    """The leave-now text that went to the outbox before anything else."""
    return list(
        turn.session.scalars(
            select(OutboxMessage).where(
                OutboxMessage.message_id == turn.message.id,
                OutboxMessage.urgent,
                OutboxMessage.complaint_id.is_(None),
            )
        )
    )
