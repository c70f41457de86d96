"""A danger was none, and was one after all: what ended it is undone.

Whoever was told that there is none is told to leave again, and the desk is alerted as at first.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from service.store.tables import Complaint, DeskAct, OutboxMessage, Ticket
from service.usecases.desk.danger_reports import ENDED, with_danger
from service.usecases.desk.danger_texts import tell_again
from service.usecases.desk.danger_told import first_alert
from service.usecases.diagnosing.rediagnose import diagnose_again
from service.usecases.rows.alerts import DANGER, raise_alert
from service.usecases.rows.services import SmsRules
from service.usecases.rows.ticket_rows import move_complaints

__all__ = ["danger_again", "danger_ended_still"]


def danger_ended_still(session: Session, act: DeskAct) -> str:
    """Why ending a danger cannot be undone, in words; empty when it can."""
    for key, done in _parts(act, "after").items():
        complaint = session.get_one(Complaint, key)
        if complaint.danger:
            return "a danger was told again since"
        if (complaint.outcome == ENDED) != done["ended"] or bool(complaint.closed_at) != done[
            "ended"
        ]:
            return "the report has ended or was opened again since"
    return ""


def danger_again(session: Session, now: datetime, act: DeskAct, *, sms: SmsRules) -> str:
    """Open the danger again on the ticket where it was; returns the ticket."""
    ticket = session.get_one(Ticket, act.ticket_id, with_for_update=True)
    if ticket.state != "open":
        ticket.state, ticket.closed_at, ticket.merged_into = "open", None, None
    since = _parts(act, "after")
    back = []
    for key, was in _parts(act, "before").items():
        complaint = session.get_one(Complaint, key)
        with_danger(session, now, complaint, was, since[key])
        complaint.pinned = False
        back.append(complaint)
    move_complaints(session, now, ticket, back, "the danger is open again")
    diagnose_again(session, now, ticket)
    for complaint in back:
        first = first_alert(session, complaint)
        what = DANGER + ", ".join(complaint.danger)
        message = first.message_id if first is not None else None
        raise_alert(session, now, what, message, complaint_id=complaint.id)
    texts = [session.get(OutboxMessage, row, with_for_update=True) for row in act.body["told"]]
    tell_again(session, now, sms, [row for row in texts if row is not None])
    return ticket.id


def _parts(act: DeskAct, when: str) -> dict[str, Any]:
    found = act.body[when]
    return {key.split("/")[1]: value for key, value in found.items() if key.startswith("danger/")}
