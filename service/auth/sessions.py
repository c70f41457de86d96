"""Who is signed in with a browser: kept on the server, ended when idle and at a fixed time.

A one-time link opens a session for a role, a password opens one for an account. The account is looked
at on every request, so a changed role or a switched-off account counts at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from service.auth.roles import Role
from service.auth.secrets_kept import hashed, new_secret
from service.auth.who import Who, by_link
from service.store.tables import Account, StaffSession

__all__ = [
    "COOKIE",
    "IDLE_MINUTES",
    "VALID_FOR",
    "CookieTerms",
    "OpenSession",
    "close_session",
    "end_sessions",
    "forget_ended_sessions",
    "note_seen",
    "open_session",
    "open_sessions",
    "seen_is_due",
    "session_ends_at",
    "session_who",
]

COOKIE = "endswitch"
VALID_FOR = timedelta(hours=12)  # absolute: one shift, however busy it was
# Without anybody doing anything. NIST SP 800-63B-4, 2.2.3 (AAL2): no more than an hour is advised. A
# technician's phone locks itself and is without signal for hours, so it has the whole shift.
IDLE_MINUTES = {Role.DESK: 60, Role.TRUCK: 720, Role.OWNER: 60, Role.ADMIN: 30}
# Being seen is written down this seldom, so that looking at pages does not wait for writers.
SEEN_EVERY = timedelta(minutes=5)


@dataclass(frozen=True, slots=True)
class OpenSession:
    """Somebody who is signed in on some device."""

    who: Who
    since: datetime
    seen_at: datetime
    ends_at: datetime  # if nobody does anything


@dataclass(frozen=True, slots=True)
class CookieTerms:
    """How the cookie is set: scripts cannot read it, other sites cannot post with it.

    Over https its name begins with ``__Host-``: a browser then takes it only from this host, over
    https and for all paths (RFC 6265bis, 4.1.3.2), so no other host can plant one.
    """

    secure: bool  # whether people reach us over https
    max_age: int = int(VALID_FOR.total_seconds())
    path: str = "/"
    httponly: bool = True
    samesite: Literal["lax"] = "lax"

    @property
    def name(self) -> str:
        """What the cookie is called."""
        return f"__Host-{COOKIE}" if self.secure else COOKIE


def open_session(session: Session, role: Role, now: datetime, account: str | None = None) -> str:
    """A new session of a role, or of an account with that role; the value of its cookie."""
    secret = new_secret()
    session.add(
        StaffSession(
            token_hash=hashed(secret),
            role=role.value,
            created_at=now,
            expires_at=now + VALID_FOR,
            account=account,
            seen_at=now,
        )
    )
    session.flush()
    return secret


def session_who(session: Session, cookie: str | None, now: datetime) -> Who | None:
    """Who a cookie stands for; None when the session has ended or never was."""
    if not cookie:
        return None
    row = session.get(StaffSession, hashed(cookie))
    if row is None:
        return None
    who = _who(session, row)
    return who if who is not None and now < _ends_at(row, who.role) else None


def session_ends_at(session: Session, cookie: str, now: datetime) -> datetime | None:
    """When a session ends if nobody does anything; None when it has ended or never was."""
    row = session.get(StaffSession, hashed(cookie))
    who = _who(session, row) if row is not None else None
    if row is None or who is None:
        return None
    ends = _ends_at(row, who.role)
    return ends if now < ends else None


def seen_is_due(session: Session, cookie: str, now: datetime) -> bool:
    """Whether it is time to write down again that somebody does something."""
    row = session.get(StaffSession, hashed(cookie))
    return row is not None and now - (row.seen_at or row.created_at) >= SEEN_EVERY


def note_seen(session: Session, cookie: str, now: datetime) -> None:
    """Somebody does something: the idle time begins anew."""
    row = session.get(StaffSession, hashed(cookie))
    if row is not None:
        row.seen_at = now


def close_session(session: Session, cookie: str) -> None:
    """Sign out."""
    session.execute(delete(StaffSession).where(StaffSession.token_hash == hashed(cookie)))


def end_sessions(session: Session, account: str) -> int:
    """Sign out everywhere: all sessions of an account, or of "link:<role>"; how many there were."""
    mine = StaffSession.account == account
    if account.startswith("link:"):
        role = account.removeprefix("link:")
        mine = StaffSession.account.is_(None) & (StaffSession.role == role)
    ended = session.execute(delete(StaffSession).where(mine).returning(StaffSession.token_hash))
    return len(ended.all())


def open_sessions(session: Session, now: datetime) -> tuple[OpenSession, ...]:
    """Who is signed in, whoever did something last first."""
    rows = session.scalars(select(StaffSession).where(StaffSession.expires_at > now)).all()
    found = [
        OpenSession(who, row.created_at, row.seen_at or row.created_at, ends)
        for row in rows
        if (who := _who(session, row)) is not None and (ends := _ends_at(row, who.role)) > now
    ]
    return tuple(sorted(found, key=lambda one: (one.seen_at, one.since), reverse=True))


def forget_ended_sessions(session: Session, now: datetime) -> None:
    """Drop sessions nobody can use any more."""
    session.execute(delete(StaffSession).where(StaffSession.expires_at <= now))


def _who(session: Session, row: StaffSession) -> Who | None:
    if row.account is None:
        return by_link(Role(row.role))
    account = session.get(Account, row.account)
    if account is None or account.off_at is not None:
        return None
    return Who(account.login, Role(account.role), account.name)


def _ends_at(row: StaffSession, role: Role) -> datetime:
    idle = timedelta(minutes=IDLE_MINUTES[role])
    return min(row.expires_at, (row.seen_at or row.created_at) + idle)
