"""The audit log: rows that are only added, each holding the hash of the one before.

The hash of a row is SHA-256 over the UTF-8 bytes of a JSON object with the keys ``account``,
``act``, ``at``, ``details``, ``previous_hash``, ``role``, ``seq`` and ``subject``, in that order and
without spaces; ``at`` is UTC with six decimals and a ``Z``, ``details`` the stored text itself. The
first row follows on 64 zeros. Whoever changes, removes or inserts a row breaks the chain from there
on; whoever cuts off the end is found out by a hash that was written down elsewhere.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import select, text
from sqlalchemy.orm import Session

from service.auth.who import Who
from service.store.tables import AuditRow

__all__ = ["FIRST", "hash_of", "note_act", "note_refusal"]

FIRST = "0" * 64  # what the first row follows on
# Any fixed number: on PostgreSQL, copies of the service add one row after the other.
AUDIT_LOCK = 0x61756474


def note_act(
    session: Session,
    now: datetime,
    who: Who,
    act: str,
    subject: str,
    details: Mapping[str, Any],
) -> None:
    """Add a row in the caller's transaction.

    ``act`` is a short verb phrase ("ticket held"), ``subject`` an id; neither they nor ``details``
    (JSON) may hold personal data in clear: nothing can be taken out of this log again.
    """
    _add(session, now, (who.account, who.role.value), act, subject, details)


def note_refusal(session: Session, now: datetime, act: str, subject: str, why: str) -> None:
    """Add a row about somebody who was not let in, so that nobody knows who it was."""
    _add(session, now, ("nobody", "none"), act, subject, {"why": why})


def _add(
    session: Session,
    now: datetime,
    by: tuple[str, str],
    act: str,
    subject: str,
    details: Mapping[str, Any],
) -> None:
    if session.get_bind().dialect.name != "sqlite":  # on SQLite writers take turns anyway
        session.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": AUDIT_LOCK})
    head = session.execute(
        select(AuditRow.seq, AuditRow.hash).order_by(AuditRow.seq.desc()).limit(1)
    ).first()
    row = AuditRow(
        seq=head.seq + 1 if head is not None else 1,
        at=now,
        account=by[0],
        role=by[1],
        act=act,
        subject=subject,
        details=_canonical(details),
        previous_hash=head.hash if head is not None else FIRST,
    )
    row.hash = hash_of(row)
    session.add(row)
    session.flush()


def hash_of(row: AuditRow) -> str:
    """What the row's hash has to be: 64 hexadecimal digits."""
    whole = {
        "account": row.account,
        "act": row.act,
        "at": row.at.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ"),
        "details": row.details,
        "previous_hash": row.previous_hash,
        "role": row.role,
        "seq": row.seq,
        "subject": row.subject,
    }
    return hashlib.sha256(_canonical(whole).encode()).hexdigest()


def _canonical(value: Any) -> str:
    """One text for one value: keys sorted, no spaces, no numbers that JSON does not have."""
    return json.dumps(
        value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )
