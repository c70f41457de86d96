"""Undo what was done to a ticket, as long as nothing later stands on it.

Of acts that changed the same thing the last is undone first. Undoing a move of grouping pins the
complaints where they were, because grouping would make the same move again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from functools import partial
from types import MappingProxyType

from sqlalchemy.orm import Session

from service.auth.who import Who
from service.errors import ConflictError, NotFoundError
from service.store.tables import Complaint, DeskAct, OutboxMessage, Ticket
from service.usecases.desk.danger_again import danger_again, danger_ended_still
from service.usecases.desk.danger_texts import NO_DANGER
from service.usecases.desk.put_back import put_back, things_to_put_back
from service.usecases.desk.take_over import put_back_talk
from service.usecases.diagnosing.rediagnose import diagnose_again
from service.usecases.rows.act_rows import AUTOMATIC, Deed, later_acts, open_ticket_row, store_act
from service.usecases.rows.act_words import when_words
from service.usecases.rows.ids import reference
from service.usecases.rows.services import SmsRules

__all__ = ["UNDO", "undo_act", "why_not"]

UNDO = "undo"
GONE = "the text is on its way already"


def undo_act(session: Session, now: datetime, who: Who, act_id: int, *, sms: SmsRules) -> str:
    """Undo an act; returns the ticket to show next.

    Raises:
        NotFoundError: there is no such act.
        ConflictError: it is undone already, or something later stands on it.
    """
    act = session.get(DeskAct, act_id, with_for_update=True, populate_existing=True)
    if act is None:
        raise NotFoundError("there is no such act")
    reason = why_not(session, act)
    if reason:
        raise ConflictError(reason)
    undo = partial(danger_again, sms=sms) if act.act == NO_DANGER else UNDOING[act.act]
    shown = undo(session, now, act)
    act.undone_at, act.undone_by = now, who.name
    session.flush()
    ticket = session.get_one(Ticket, shown)
    deed = Deed(
        UNDO,
        "act undone",
        f"Undone: {act.says}",
        noted={"undone": act.id},
        complaint_id=act.complaint_id,
    )
    others = {key.split("/")[1] for key in act.body["before"] if key.startswith("ticket/")}
    store_act(session, now, who, ticket, deed, others)
    return ticket.id


def why_not(session: Session, act: DeskAct) -> str:
    """Why an act cannot be undone, in words; empty when it can."""
    if act.undone_at is not None:
        return f"{act.undone_by} has undone it already"
    if act.act == "place":
        return "a report stays with the home that was named"
    if act.act not in LOOKING:
        return "texts that went out cannot be taken back"
    later = later_acts(session, act)
    if later:
        last = later[-1]
        ticket = session.get_one(Ticket, last.ticket_id)
        when = when_words(session, ticket.building_id, last.at)
        return f"something later stands on it: {last.says} ({last.name}, {when})"
    return LOOKING[act.act](session, act)


def _stands(session: Session, act: DeskAct) -> str:
    """For plain values of one ticket: whether they are what the act made them."""
    ticket = session.get_one(Ticket, act.ticket_id)
    if ticket.state != "open":
        return f"{reference(ticket.id)} is closed"
    if ticket.danger and act.body["before"].get(f"ticket/{ticket.id}/held_until") is not None:
        return f"{reference(ticket.id)} is a danger; it cannot be put off"
    for key, value in act.body["after"].items():
        if _now(ticket, key.split("/")[2]) != value:
            return "it has ended by itself since"
    return ""


def _now(ticket: Ticket, field: str) -> object:
    value = getattr(ticket, field)
    return value.isoformat() if isinstance(value, datetime) else value


def _restore(session: Session, now: datetime, act: DeskAct) -> str:
    ticket = open_ticket_row(session, act.ticket_id)
    for key, value in act.body["before"].items():
        field = key.split("/")[2]
        if field == "held_until" and value is not None:
            value = datetime.fromisoformat(value)  # noqa: PLW2901
        setattr(ticket, field, value)
    if ticket.held_until is not None and ticket.held_until <= now:
        ticket.held_until, ticket.hold_reason = None, None  # that hold would be over by now
    return ticket.id


def _restore_time(session: Session, now: datetime, act: DeskAct) -> str:
    ticket_id = _restore(session, now, act)
    ticket = session.get_one(Ticket, ticket_id)
    ticket.respond_by = datetime.fromisoformat(act.body["was"])
    session.flush()
    diagnose_again(session, now, ticket)
    return ticket_id


def _regroups(session: Session, act: DeskAct) -> str:
    return things_to_put_back(session, act).refusal


def _regroup(session: Session, now: datetime, act: DeskAct) -> str:
    return put_back(session, now, act, pin=act.account == AUTOMATIC)


def _talks(session: Session, act: DeskAct) -> str:
    complaint = session.get_one(Complaint, act.complaint_id)
    if complaint.closed_at is not None:
        return "the complaint has ended"
    if complaint.taken_over_by != act.body["after"][f"talk/{complaint.id}"]:
        return "it has ended by itself since"
    return ""


def _talk(session: Session, now: datetime, act: DeskAct) -> str:
    complaint = session.get_one(Complaint, act.complaint_id)
    put_back_talk(session, now, complaint, act.body)
    return open_ticket_row(session, str(complaint.ticket_id)).id


def _waits(session: Session, act: DeskAct) -> str:
    return GONE if any(_is_gone(row) for row in _texts(session, act, lock=False)) else ""


def _keep_back(session: Session, now: datetime, act: DeskAct) -> str:
    del now
    for row in _texts(session, act, lock=True):
        if row is None or _is_gone(row):
            raise ConflictError(GONE)  # claimed for sending between looking and locking
        session.delete(row)
    session.flush()
    return act.ticket_id


def _is_gone(row: OutboxMessage | None) -> bool:
    return row is None or row.sent_at is not None or row.claimed_at is not None


def _texts(session: Session, act: DeskAct, *, lock: bool) -> list[OutboxMessage | None]:
    ids = [int(key.split("/")[1]) for key in act.body["after"]]
    return [
        session.get(OutboxMessage, row_id, with_for_update=lock, populate_existing=lock)
        for row_id in ids
    ]


_Look = Callable[[Session, DeskAct], str]
_Undo = Callable[[Session, datetime, DeskAct], str]

GROUPING = ("merge", "split", "pin", "unpin", "move")
PLAIN = ("assign", "hold", "release")
TALKING = ("take_over", "hand_back")
LOOKING: Mapping[str, _Look] = MappingProxyType(
    {
        **dict.fromkeys(GROUPING, _regroups),
        **dict.fromkeys((*PLAIN, "respond_by"), _stands),
        **dict.fromkeys(TALKING, _talks),
        "write": _waits,
        NO_DANGER: danger_ended_still,
    }
)
UNDOING: Mapping[str, _Undo] = MappingProxyType(
    {
        **dict.fromkeys(GROUPING, _regroup),
        **dict.fromkeys(PLAIN, _restore),
        "respond_by": _restore_time,
        **dict.fromkeys(TALKING, _talk),
        "write": _keep_back,
    }
)
