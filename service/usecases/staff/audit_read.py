"""The audit log as people read it, and whether it is still what was written."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import Account, AuditRow
from service.usecases.rows.audit import FIRST, hash_of

__all__ = ["AuditLine", "Verified", "newest_acts", "verify_audit"]

A_PAGE = 50


@dataclass(frozen=True, slots=True)
class AuditLine:
    """One row to look at."""

    seq: int
    at: datetime
    account: str
    name: str  # what colleagues read; the account where there is no name
    role: str
    act: str
    subject: str
    details: str


@dataclass(frozen=True, slots=True)
class Verified:
    """What became of the check: the head, or the first row that is not as it was written."""

    rows: int
    head: str
    broken: str | None = None


def newest_acts(session: Session, before: int | None = None) -> tuple[AuditLine, ...]:
    """A page of the log, newest first; ``before`` is the number of the row to go on from."""
    query = (
        select(AuditRow, Account.name)
        .outerjoin(Account, Account.login == AuditRow.account)
        .order_by(AuditRow.seq.desc())
        .limit(A_PAGE)
    )
    if before is not None:
        query = query.where(AuditRow.seq < before)
    return tuple(
        AuditLine(
            row.seq,
            row.at,
            row.account,
            name or _program(row.account),
            row.role,
            row.act,
            row.subject,
            _in_words(row.details),
        )
        for row, name in session.execute(query)
    )


def _program(account: str) -> str:
    """An account that is no person's: ``token:desk:2`` is a program with a token of the desk."""
    kind, _, rest = account.partition(":")
    role, _, number = rest.partition(":")
    return f"a program with token {number} of {role}" if kind == "token" and number else account


def _in_words(details: str) -> str:
    """``{"sessions_ended":2}`` as "sessions ended: 2"; what is no such object stays as it is."""
    try:
        found = json.loads(details)
    except (
        ValueError
    ):  # somebody has changed it; the check says so, and people still have to see it
        return details
    if not isinstance(found, dict):
        return details
    return ", ".join(f"{key.replace('_', ' ')}: {_value(value)}" for key, value in found.items())


def _value(value: object) -> str:
    if value is None:
        return "none"
    if isinstance(value, list):
        return " ".join(str(one) for one in value) or "none"
    return str(value)


def verify_audit(session: Session, head: str | None = None) -> Verified:
    """Follow the chain from its beginning.

    ``head`` is a hash that was printed earlier: the chain must still hold it, or its end was cut off
    or all of it was written anew.
    """
    query = select(AuditRow).order_by(AuditRow.seq).execution_options(yield_per=1000)
    with session.scalars(query) as rows:
        return _follow(rows, head)


def _follow(rows: Iterable[AuditRow], head: str | None) -> Verified:
    count, previous, met = 0, FIRST, head in {None, FIRST}
    for row in rows:
        if row.seq != count + 1:
            return Verified(count, previous, f"row {count + 1} is missing")
        if row.previous_hash != previous:
            return Verified(count, previous, f"row {row.seq} does not follow on row {count}")
        if row.hash != hash_of(row):
            return Verified(count, previous, f"row {row.seq} is not as it was written")
        count, previous = row.seq, row.hash
        met = met or row.hash == head
    if not met:
        return Verified(count, previous, f"the row with the hash {head} is gone")
    return Verified(count, previous)
