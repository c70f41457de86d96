"""A person at the desk writes to one household, in their own words."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.auth.who import Who
from service.errors import ConflictError, InvalidError, PointedError
from service.store.tables import (
    Complaint,
    HomePhone,
    HouseholdRow,
    InboxMessage,
    NumberRow,
)
from service.usecases.diagnosing.regrouping import homes_in_words
from service.usecases.loading.page_names import is_page
from service.usecases.rows.act_rows import (
    Deed,
    complaint_to_act_on,
    one_line,
    open_ticket_row,
    store_act,
)
from service.usecases.rows.pressing import zone_of
from service.usecases.rows.quiet_hours import is_fresh
from service.usecases.rows.services import SmsRules
from service.usecases.sending.outgoing import Draft, Letter, write_outbox

__all__ = ["cannot_write", "phone_of", "write_household"]

MOST_SEGMENTS = 3
LONGEST_TEXT = 1000


def write_household(
    session: Session, now: datetime, who: Who, complaint_id: str, text: str, *, sms: SmsRules
) -> str:
    """Send the text to the phone of the complaint, by day unless they wrote minutes ago.

    Returns the ticket's id.

    Raises:
        NotFoundError: there is no such complaint.
        ConflictError: it has ended, no phone is known, or the household wants no texts.
        InvalidError: the text is empty or longer than three segments.
    """
    complaint = complaint_to_act_on(session, complaint_id)
    ticket = open_ticket_row(session, str(complaint.ticket_id))
    said = one_line(text, "/text", LONGEST_TEXT)
    if sms.segments(sms.fold(said)) > MOST_SEGMENTS:
        wrong = PointedError("/text", f"is longer than {MOST_SEGMENTS} texts: shorten it")
        raise InvalidError("the text is refused", (wrong,))
    reason = cannot_write(session, complaint)
    number = phone_of(session, complaint)
    if reason or number is None:
        raise ConflictError(reason)
    letter = Letter(
        number,
        zone_of(session, complaint.building_id),
        complaint_id=complaint.id,
        at_once=_wrote_just_now(session, now, number),
    )
    rows = write_outbox(session, now, sms, letter, (Draft(said),))
    for row in rows:
        row.written_by = who.name
    deed = Deed(
        "write",
        "household written to",
        f"Text to {homes_in_words([complaint])}",
        after={f"text/{row.id}": "written" for row in rows},
        noted={"complaint": complaint.id},
        complaint_id=complaint.id,
    )
    store_act(session, now, who, ticket, deed)
    return ticket.id


def cannot_write(session: Session, complaint: Complaint) -> str:
    """Why nobody can write to the household, in words; empty when one can."""
    number = phone_of(session, complaint)
    if number is None:
        return "no phone is known for this home; it is written to on its own page only"
    row = session.get(NumberRow, number)
    if row is not None and row.stopped_at is not None:
        return "this household wants no texts; call them"
    return ""


def phone_of(session: Session, complaint: Complaint) -> str | None:
    """The phone that reported; for a report from a page, one that belongs to the home."""
    if not is_page(complaint.number):
        return complaint.number
    left = session.scalars(
        select(HomePhone.number)
        .where(HomePhone.building_id == complaint.building_id)
        .where(HomePhone.apartment == complaint.apartment, HomePhone.bound)
        .order_by(HomePhone.given_at.desc(), HomePhone.id.desc())
        .limit(1)
    ).first()
    if left is not None:
        return left
    return session.scalars(
        select(HouseholdRow.mobile)
        .where(HouseholdRow.building_id == complaint.building_id)
        .where(HouseholdRow.apartment == complaint.apartment, HouseholdRow.mobile.is_not(None))
        .order_by(HouseholdRow.id)
        .limit(1)
    ).first()


def _wrote_just_now(session: Session, now: datetime, number: str) -> bool:
    last = session.scalar(
        select(InboxMessage.received_at)
        .where(InboxMessage.from_number == number)
        .order_by(InboxMessage.seq.desc())
        .limit(1)
    )
    return last is not None and is_fresh(last, now)
