"""Find out whether a new phone belongs to the home it reports for: by a code, else by a person.

A six-digit code goes to a phone that is on file for the home; whoever reported sends it back from
the new one within ten minutes, with five tries, once. A home without a phone on file is left to the
desk. Nothing else waits for this: the report is taken, and danger is answered, before.
"""

from __future__ import annotations

import re
import secrets
from datetime import datetime, timedelta
from typing import Literal

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from rules.asking.sayings import say
from service.auth.secrets_kept import hashed
from service.auth.who import Who
from service.store.tables import Complaint, HouseholdRow, NumberRow, SenderCode
from service.usecases.diagnosing.rediagnose import rediagnose_if_possible
from service.usecases.loading.plants import plant_of
from service.usecases.loading.whose_phone import Home, bind, complaint_row
from service.usecases.rows.alerts import raise_alert
from service.usecases.rows.audit import note_act
from service.usecases.rows.complaint_rows import join_confirmed
from service.usecases.rows.pressing import zone_of
from service.usecases.rows.services import SmsRules
from service.usecases.rows.ticket_rows import record_event
from service.usecases.sending.outgoing import Draft, Letter, write_outbox

__all__ = ["ask_whose_phone", "confirm_by_person", "try_code"]

GOOD_FOR = timedelta(minutes=10)
MOST_TRIES = 5
MOST_AN_HOUR, MOST_A_DAY = 3, 10  # codes for one home
LONGEST_NAME = 30
SIX_DIGITS = re.compile(r"(?<!\d)(\d{3})[ -]?(\d{3})(?!\d)")

Outcome = Literal["right", "wrong", "void"]


def ask_whose_phone(
    session: Session, now: datetime, sms: SmsRules, complaint: Complaint, message_id: str
) -> None:
    """A report from a phone that is not on file for its home: send a code, or ask the desk."""
    if complaint.building_id is None or complaint.apartment is None:
        return
    home = (complaint.building_id, complaint.apartment)
    if complaint.ticket_id is not None:
        body = {"complaint": complaint.id, "apartment": home[1]}
        record_event(session, now, complaint.ticket_id, "sender_not_confirmed", body)
    phones = _phones(session, home, complaint.number)
    if not phones or _too_many(session, now, home):
        raise_alert(session, now, "sender to be confirmed", message_id)
        return
    _send_code(session, now, sms, home, phones, complaint.number)


def try_code(session: Session, now: datetime, number: str, text: str) -> Outcome | None:
    """What a text is as a code; None when it holds none, or none is waited for."""
    found = SIX_DIGITS.search(text)
    row = session.scalars(
        select(SenderCode)
        .where(SenderCode.number == number, SenderCode.done_at.is_(None))
        .order_by(SenderCode.id.desc())
        .limit(1)
        .with_for_update()
    ).first()
    if found is None or row is None:
        return None
    if now > row.ends_at:
        row.done_at = now
        return "void"
    row.tries += 1
    if secrets.compare_digest(row.code_hash, _hash(number, "".join(found.groups()))):
        row.done_at = now
        _confirmed(session, now, number, (row.building_id, row.apartment), "code")
        return "right"
    if row.tries >= MOST_TRIES:
        row.done_at = now
        return "void"
    return "wrong"


def confirm_by_person(session: Session, now: datetime, who: Who, complaint_id: str) -> Complaint:
    """Somebody at the desk knows that the sender belongs to the home.

    Raises:
        NotFoundError: there is no such complaint.
        ConflictError: it has ended, or its home is not known.
    """
    complaint = complaint_row(session, complaint_id)
    if not complaint.confirmed:
        home = (str(complaint.building_id), str(complaint.apartment))
        _confirmed(session, now, complaint.number, home, "person")
        note_act(session, now, who, "sender confirmed", complaint.id, {})
        rediagnose_if_possible(session, now, complaint.building_id)
    return complaint


def _confirmed(session: Session, now: datetime, number: str, home: Home, how: str) -> None:
    bind(session, now, number, home, how)
    waiting = session.scalars(
        select(Complaint)
        .where(Complaint.building_id == home[0], Complaint.apartment == home[1])
        .where(Complaint.number == number, Complaint.closed_at.is_(None))
        .where(Complaint.confirmed.is_(False))
    ).all()
    for complaint in waiting:
        kept = join_confirmed(session, now, complaint)
        if kept.ticket_id is not None:
            body = {"complaint": complaint.id, "apartment": home[1], "how": how}
            record_event(session, now, kept.ticket_id, "sender_confirmed", body)


def _phones(session: Session, home: Home, sender: str) -> list[tuple[str, str]]:
    """Phones on file for a home that may be texted, with their language."""
    rows = session.execute(
        select(HouseholdRow.mobile, HouseholdRow.language)
        .outerjoin(NumberRow, NumberRow.number == HouseholdRow.mobile)
        .where(HouseholdRow.building_id == home[0], HouseholdRow.apartment == home[1])
        .where(HouseholdRow.mobile.is_not(None), HouseholdRow.mobile != sender)
        .where(NumberRow.stopped_at.is_(None))
        .order_by(HouseholdRow.id)
    )
    phones = {mobile: language for mobile, language in rows if mobile is not None}
    return list(phones.items())


def _too_many(session: Session, now: datetime, home: Home) -> bool:
    made = (
        select(func.count())
        .select_from(SenderCode)
        .where(SenderCode.building_id == home[0], SenderCode.apartment == home[1])
    )
    hour = session.scalar(made.where(SenderCode.made_at > now - timedelta(hours=1))) or 0
    day = session.scalar(made.where(SenderCode.made_at > now - timedelta(days=1))) or 0
    return hour >= MOST_AN_HOUR or day >= MOST_A_DAY


def _send_code(
    session: Session,
    now: datetime,
    sms: SmsRules,
    home: Home,
    phones: list[tuple[str, str]],
    sender: str,
) -> None:
    code = f"{secrets.randbelow(1_000_000):06d}"
    plant = plant_of(session, home[0])
    name = plant.name[:LONGEST_NAME].strip() if plant is not None else home[0]
    zone = zone_of(session, home[0])
    sent = []
    for phone, language in phones:
        draft = Draft(say("code", language, building=name, code=code))
        sent += write_outbox(session, now, sms, Letter(phone, zone), (draft,))
    starts = max((row.send_at for row in sent), default=now)
    session.add(
        SenderCode(
            number=sender,
            building_id=home[0],
            apartment=home[1],
            code_hash=_hash(sender, code),
            made_at=now,
            ends_at=starts + GOOD_FOR,
            tries=0,
        )
    )
    session.flush()


def _hash(number: str, code: str) -> str:
    return hashed(f"{number}/{code}")
