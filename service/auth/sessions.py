"""Who is signed in with a browser: kept on the server, ended at a fixed time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from sqlalchemy import delete
from sqlalchemy.orm import Session

from service.auth.roles import Role
from service.auth.secrets_kept import hashed, new_secret
from service.store.tables import StaffSession

__all__ = [
    "COOKIE",
    "VALID_FOR",
    "CookieTerms",
    "close_session",
    "forget_ended_sessions",
    "open_session",
    "session_role",
]

COOKIE = "endswitch"
VALID_FOR = timedelta(hours=12)  # absolute: one shift, however busy it was


@dataclass(frozen=True, slots=True)
class CookieTerms:
    """How the cookie is set: scripts cannot read it, other sites cannot post with it."""

    secure: bool  # whether people reach us over https
    max_age: int = int(VALID_FOR.total_seconds())
    path: str = "/"
    httponly: bool = True
    samesite: Literal["lax"] = "lax"


def open_session(session: Session, role: Role, now: datetime) -> str:
    """A new session; the value of its cookie."""
    secret = new_secret()
    session.add(
        StaffSession(
            token_hash=hashed(secret),
            role=role.value,
            created_at=now,
            expires_at=now + VALID_FOR,
        )
    )
    session.flush()
    return secret


def session_role(session: Session, cookie: str | None, now: datetime) -> Role | None:
    """The role of a session that is still open; None for everything else."""
    if not cookie:
        return None
    row = session.get(StaffSession, hashed(cookie))
    return Role(row.role) if row is not None and row.expires_at > now else None


def close_session(session: Session, cookie: str) -> None:
    """Sign out."""
    session.execute(delete(StaffSession).where(StaffSession.token_hash == hashed(cookie)))


def forget_ended_sessions(session: Session, now: datetime) -> None:
    """Drop sessions nobody can use any more."""
    session.execute(delete(StaffSession).where(StaffSession.expires_at <= now))
