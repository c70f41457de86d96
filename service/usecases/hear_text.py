"""What follows from one text: whose home, which complaint, what it says, tickets, the answer."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.asking.conversation import (
    HOMES,
    PLACE,
    Conversation,
    Heard,
    State,
    answer_counts,
    step,
)
from rules.diagnosis import Diagnosis
from rules.model import Intent, Language
from rules.reading import Reading, read
from service.store.tables import Complaint, InboxMessage, NumberRow, OutboxMessage
from service.usecases.complaint_rows import (
    add_reading,
    end_complaint,
    find_complaint,
    last_repaired,
    open_complaint,
    place_complaint,
    reopen_complaint,
)
from service.usecases.find_home import find_home, same_apartment
from service.usecases.hearing import event_of, language_asked_for
from service.usecases.load_households import homes_of
from service.usecases.outgoing import reply_json
from service.usecases.read_text import reading_json
from service.usecases.rediagnose import rediagnose, rediagnose_if_possible
from service.usecases.services import SmsRules
from service.usecases.talk import Cause, apply_step, conversation_of, number_row, situation_of
from service.usecases.ticket_rows import record_event

__all__ = ["hear_text"]

Home = tuple[str, str]
# Somebody who wrote this recently is awake.
FRESH = timedelta(minutes=10)


@dataclass(slots=True)
class _Turn:
    """One text while it is being worked on."""

    session: Session
    now: datetime
    message: InboxMessage
    number: NumberRow
    conversation: Conversation
    reading: Reading
    event: Heard
    dangers: tuple[str, ...]
    plain: bool
    homes: tuple[Home, ...] = ()
    complaint: Complaint | None = None
    diagnosis: Diagnosis | None = None


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
    turn = _turn(session, now, message, told, plain=plain)
    _find_complaint(turn)
    if turn.complaint is not None:
        _add_evidence(turn)
    rows = _answer(turn, sms, danger_told=bool(told))
    complaint = turn.complaint
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


def _turn(
    session: Session, now: datetime, message: InboxMessage, told: tuple[str, ...], *, plain: bool
) -> _Turn:
    number = number_row(session, now, message.from_number)
    conversation = conversation_of(session, number)
    text = message.text or ""
    reading = read(text, conversation.current)
    turn = _Turn(
        session=session,
        now=now,
        message=message,
        number=number,
        conversation=conversation,
        reading=reading,
        event=Heard.OTHER,
        dangers=told or tuple(reading.danger_kinds),
        plain=plain,
    )
    _settle_home(turn)
    turn.event = event_of(
        text, reading, turn.conversation, danger=bool(turn.dangers), homes=turn.homes
    )
    _settle_language(turn)
    return turn


def _settle_home(turn: _Turn) -> None:
    """Which homes this text may be about: none known, one, or several to choose from."""
    registered = homes_of(turn.session, turn.message.from_number)
    named = _named_home(turn, registered)
    conversation = turn.conversation
    if named is not None:
        turn.homes = (named,)
    elif conversation.current == HOMES and turn.reading.answer is not None:
        turn.homes = _picked(conversation.homes, turn.reading.answer.means) or registered
    elif len(registered) <= 1:
        turn.homes = registered or ((conversation.home,) if conversation.home else ())
    elif conversation.home in registered and _is_in_midst(conversation):
        turn.homes = (conversation.home,) if conversation.home else ()
    else:
        turn.homes = registered


def _named_home(turn: _Turn, registered: tuple[Home, ...]) -> Home | None:
    """The home a text names: one of the number's own, or for an unknown number any that fits."""
    place = turn.reading.place
    if place is None:
        return None
    if registered:
        apartment = place.apartment
        fitting = [h for h in registered if apartment and same_apartment(h[1], apartment)]
        return fitting[0] if len(fitting) == 1 else None
    if turn.conversation.home is not None and turn.conversation.current != PLACE:
        return None
    return find_home(turn.session, place.words, place.apartment)


def _picked(homes: tuple[Home, ...], means: str) -> tuple[Home, ...]:
    if means.isascii() and means.isdecimal() and 1 <= int(means) <= len(homes):
        return (homes[int(means) - 1],)
    return ()


def _is_in_midst(conversation: Conversation) -> bool:
    return conversation.state not in {State.NEW, State.CLOSED, State.WHICH, State.PLACE}


def _settle_language(turn: _Turn) -> None:
    """Go on in the language of a complaint; a bare number says nothing about language."""
    speaks = turn.event in {Heard.COMPLAINT, Heard.HUMAN, Heard.STATUS, Heard.HELP}
    if speaks and turn.reading.language in {Language.EN, Language.ES}:
        language = turn.reading.language.value
        turn.conversation = replace(turn.conversation, language=language)


def _find_complaint(turn: _Turn) -> None:
    """The complaint this text belongs to; opened, placed or reopened as the text demands."""
    session, now, sender = turn.session, turn.now, turn.message.from_number
    home = turn.homes[0] if len(turn.homes) == 1 else None
    unplaced = find_complaint(session, sender, None)
    if home is not None and unplaced is not None:
        turn.complaint = place_complaint(session, now, unplaced, home)
    else:
        turn.complaint = find_complaint(session, sender, home)
    if turn.complaint is None and _says_not_right(turn):
        turn.complaint = last_repaired(session, sender)
        if turn.complaint is not None:
            reopen_complaint(session, now, turn.complaint, source=turn.message.id)
    if turn.complaint is None and (turn.event is Heard.COMPLAINT or turn.dangers):
        turn.complaint = open_complaint(session, now, sender, home)


def _says_not_right(turn: _Turn) -> bool:
    """After a repair, "no" or a complaint means that the repair did not help."""
    if turn.conversation.state is not State.REPAIRED:
        return False
    answer = turn.reading.answer
    return turn.event is Heard.COMPLAINT or (answer is not None and answer.means == "no")


def _add_evidence(turn: _Turn) -> None:
    complaint = turn.complaint
    if complaint is None:
        return
    reading = turn.reading
    if reading.answer is not None and not answer_counts(turn.conversation, reading.answer.means):
        reading = replace(reading, answer=None)
    ending = {Heard.RESOLVED, Heard.CANCEL, Heard.STOP}
    if turn.event not in ending or turn.dangers:
        add_reading(
            turn.session,
            turn.now,
            complaint,
            reading,
            source=turn.message.id,
            dangers=turn.dangers,
        )
    _rediagnose(turn)


def _rediagnose(turn: _Turn) -> None:
    complaint = turn.complaint
    if complaint is None:
        return
    turn.diagnosis = rediagnose(
        turn.session, turn.now, complaint.building_id, only=complaint.id, plain=turn.plain
    )
    turn.session.flush()


def _answer(turn: _Turn, sms: SmsRules, *, danger_told: bool) -> list[OutboxMessage]:
    """Take the step of the conversation and what follows from it."""
    reading = turn.reading
    situation = replace(
        situation_of(turn.session, turn.now, turn.conversation, turn.complaint, turn.diagnosis),
        danger=turn.dangers,
        homes=turn.homes,
        answer=reading.answer.means if reading.answer else None,
        room=reading.room_temp,
        oven_in_use=reading.oven_in_use,
        language=language_asked_for(turn.message.text or "", reading),
    )
    taken = step(turn.conversation, turn.event, situation)
    cause = Cause(
        key=turn.message.id,
        message_id=turn.message.id,
        at_once=turn.now - turn.message.received_at <= FRESH,
        stops=turn.event is Heard.STOP,
        danger_told=danger_told,
    )
    rows = apply_step(turn.session, turn.now, sms, turn.number, taken, turn.complaint, cause)
    if taken.close_complaint:
        _end(turn)
    return rows


def _end(turn: _Turn) -> None:
    """The tenant says that all is well, or takes the complaint back."""
    complaint = turn.complaint
    if complaint is None:
        was_asked = turn.conversation.state is State.REPAIRED
        repaired = last_repaired(turn.session, turn.message.from_number) if was_asked else None
        if repaired is not None and repaired.ticket_id is not None:
            body = {"complaint": repaired.id}
            record_event(turn.session, turn.now, repaired.ticket_id, "confirmed", body)
        return
    if complaint.danger:
        return  # nobody ends a danger by text; a person looks at it
    outcome = "cancelled" if turn.reading.intent is Intent.CANCEL else "resolved"
    end_complaint(turn.session, turn.now, complaint, outcome)
    rediagnose_if_possible(turn.session, turn.now, complaint.building_id)


def _told_rows(turn: _Turn) -> list[OutboxMessage]:
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
