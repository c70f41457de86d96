"""A person takes over the conversation with a household, or gives it back to the machine."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from rules.asking.asks import advance, usable_question
from rules.asking.conversation import Conversation, Heard, Situation, State, Step, step
from service.auth.who import Who
from service.errors import ConflictError
from service.store.tables import Complaint, Ticket
from service.usecases.desk.pending_talk import pick_up, put_down
from service.usecases.desk.situation import situation_of
from service.usecases.diagnosing.rediagnose import believed
from service.usecases.diagnosing.regrouping import homes_in_words
from service.usecases.rows.act_rows import Deed, complaint_to_act_on, open_ticket_row, store_act
from service.usecases.rows.services import SmsRules
from service.usecases.sending.talk import (
    Cause,
    apply_step,
    conversation_of,
    number_row,
)

__all__ = ["hand_back", "put_back_talk", "take_over", "talk_on_from"]


def take_over(session: Session, now: datetime, who: Who, complaint_id: str) -> str:
    """From now on this person writes with the household; returns the ticket's id.

    Raises:
        NotFoundError: there is no such complaint.
        ConflictError: it has ended, or somebody has taken over already.
    """
    complaint, ticket = _open(session, complaint_id)
    if complaint.taken_over_by is not None:
        raise ConflictError(f"{complaint.taken_over_by} has taken over this conversation already")
    number = number_row(session, now, complaint.number)
    conversation = conversation_of(session, number)
    talk = {"conversation": number.conversation, **put_down(session, now, complaint)}
    if conversation.state is not State.STOPPED and conversation.home in {None, _home(complaint)}:
        silent = replace(conversation, state=State.PERSON, current=None, homes=(), repeats=0)
        number.conversation = silent.to_dict()
    complaint.taken_over_by = who.name
    key = f"talk/{complaint.id}"
    deed = Deed(
        "take_over",
        "conversation taken over",
        f"A person writes with {homes_in_words([complaint])} now",
        before={key: None},
        after={key: who.name},
        more={"talk": talk},
        noted={"complaint": complaint.id},
        complaint_id=complaint.id,
    )
    store_act(session, now, who, ticket, deed)
    return ticket.id


def hand_back(
    session: Session, now: datetime, who: Who, complaint_id: str, *, sms: SmsRules
) -> str:
    """The machine goes on: it asks what is still worth asking, if anything. Returns the ticket's id.

    Raises:
        NotFoundError: there is no such complaint.
        ConflictError: it has ended, or nobody has taken over.
    """
    complaint, ticket = _open(session, complaint_id)
    if complaint.taken_over_by is None:
        raise ConflictError("nobody has taken over this conversation")
    number = number_row(session, now, complaint.number)
    key = f"talk/{complaint.id}"
    deed = Deed(
        "hand_back",
        "conversation handed back",
        f"The conversation with {homes_in_words([complaint])} goes on by itself",
        before={key: complaint.taken_over_by},
        after={key: None},
        more={"talk": {"conversation": number.conversation, "timers": [], "texts": []}},
        noted={"complaint": complaint.id},
        complaint_id=complaint.id,
    )
    complaint.taken_over_by = None
    act = store_act(session, now, who, ticket, deed)
    conversation = conversation_of(session, number)
    if conversation.state is not State.STOPPED and conversation.home in {None, _home(complaint)}:
        situation = _situation(session, now, conversation, complaint)
        taken = _go_on(conversation, situation, placed=complaint.building_id is not None)
        cause = Cause(key=f"act-{act.id}")
        apply_step(session, now, sms, number, taken, complaint, cause)
    return ticket.id


def talk_on_from(
    session: Session, now: datetime, sms: SmsRules, complaint: Complaint, home: tuple[str, str]
) -> None:
    """A person has said which home a report is about: nobody is asked for it any more.

    A conversation in which a person writes, or that nobody wants, stays as it is.
    """
    number = number_row(session, now, complaint.number)
    conversation = replace(conversation_of(session, number), home=home, homes=())
    if conversation.state not in {State.PLACE, State.WHICH}:
        number.conversation = conversation.to_dict()
        return
    put_down(session, now, complaint)
    situation = _situation(session, now, conversation, complaint)
    taken = _go_on(conversation, situation, placed=True)
    cause = Cause(key=f"placed-{complaint.id}")
    apply_step(session, now, sms, number, taken, complaint, cause)


def put_back_talk(session: Session, now: datetime, complaint: Complaint, body: Any) -> None:
    """Undo taking over or handing back: the conversation stands where it stood, timers run again."""
    before = body["before"][f"talk/{complaint.id}"]
    number = number_row(session, now, complaint.number)
    put_down(session, now, complaint)
    pick_up(session, now, body["talk"])
    if number.stopped_at is None:  # whoever wants no texts is not drawn in again
        number.conversation = body["talk"]["conversation"]
    complaint.taken_over_by = before
    session.flush()


def _open(session: Session, complaint_id: str) -> tuple[Complaint, Ticket]:
    complaint = complaint_to_act_on(session, complaint_id)
    return complaint, open_ticket_row(session, str(complaint.ticket_id))


def _home(complaint: Complaint) -> tuple[str, str] | None:
    if complaint.building_id is None or complaint.apartment is None:
        return None
    return complaint.building_id, complaint.apartment


def _situation(
    session: Session, now: datetime, conversation: Conversation, complaint: Complaint
) -> Situation:
    diagnosis = believed(session, now, complaint.building_id)
    return situation_of(session, now, conversation, complaint, diagnosis)


def _go_on(conversation: Conversation, situation: Situation, *, placed: bool) -> Step:
    """Ask the next question; with none left there is nothing to say that a person has not said.

    Where nobody knows the home yet, the conversation opens anew and asks for it.
    """
    if not placed:
        return step(replace(conversation, state=State.NEW), Heard.COMPLAINT, situation)
    told = replace(conversation, state=State.TOLD, current=None, repeats=0)
    if usable_question(told, situation) is None:
        return Step(told)
    return advance(told, situation)
