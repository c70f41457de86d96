"""A phone number, shown to somebody who needs to call: counted, noted, and only its end elsewhere.

A report from a page has the phone that belongs to its home, if one is known.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from service.auth.who import Who
from service.errors import EndswitchError, NotFoundError
from service.store.tables import AuditRow, Complaint
from service.usecases.desk.write_household import phone_of
from service.usecases.rows.audit import note_act

__all__ = ["Revealed", "TooManyNumbersError", "ends_in", "reveal_number"]

MOST_AN_HOUR = 30  # for one account: more than a night's calls, less than a list to take away
ACT = "number shown"


class TooManyNumbersError(EndswitchError):
    """This account has been shown many numbers within the hour."""

    code = "too_many_numbers"
    status = 429


@dataclass(frozen=True, slots=True)
class Revealed:
    """Whom to call about a complaint."""

    complaint: str
    number: str  # E.164
    building: str | None
    apartment: str | None
    ticket: str | None


def ends_in(number: str | None) -> str:
    """A number as everybody may read it: ``ends in 42``; empty where none is known."""
    return f"ends in {number[-2:]}" if number is not None else ""


def reveal_number(session: Session, now: datetime, who: Who, complaint_id: str) -> Revealed:
    """The number to call about a complaint; noted in the audit log in the same transaction.

    Raises:
        NotFoundError: there is no such complaint, or no phone is known for its home.
        TooManyNumbersError: this account has been shown its share of the hour.
    """
    complaint = session.get(Complaint, complaint_id)
    if complaint is None:
        raise NotFoundError("there is no such complaint")
    number = phone_of(session, complaint)
    if number is None:
        raise NotFoundError("no phone is known for this home")
    shown = session.scalar(
        select(func.count())
        .select_from(AuditRow)
        .where(AuditRow.account == who.account, AuditRow.act == ACT)
        .where(AuditRow.at > now - timedelta(hours=1))
    )
    if (shown or 0) >= MOST_AN_HOUR:
        raise TooManyNumbersError(
            f"You have been shown {MOST_AN_HOUR} numbers within an hour. Try again later."
        )
    note_act(session, now, who, ACT, complaint.id, {})
    return Revealed(
        complaint.id,
        number,
        complaint.building_id,
        complaint.apartment,
        complaint.ticket_id,
    )
