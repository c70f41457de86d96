"""Bearer tokens for programs and scripts: ``es_<role>_<random>``, shown once, ended by number."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from service.auth.roles import Role
from service.auth.secrets_kept import hashed, new_secret
from service.auth.who import Who, by_token
from service.errors import NotFoundError, UnauthorizedError
from service.store.tables import ApiToken

__all__ = ["TokenLine", "end_token", "issue_token", "list_tokens", "who_bears"]


@dataclass(frozen=True, slots=True)
class TokenLine:
    """A token as far as it may be shown again."""

    number: int
    role: Role
    made_at: datetime
    ended_at: datetime | None


def issue_token(session: Session, role: Role, now: datetime) -> str:
    """A new token; this is the only time it can be seen."""
    token = new_secret(f"es_{role.value}_")
    session.add(ApiToken(role=role.value, token_hash=hashed(token), created_at=now))
    session.flush()
    return token


def who_bears(session: Session, bearer: str, now: datetime) -> Who:
    """The program behind a token.

    Raises:
        UnauthorizedError: the token is unknown or was ended.
    """
    row = session.scalar(select(ApiToken).where(ApiToken.token_hash == hashed(bearer)))
    if row is None or (row.revoked_at is not None and row.revoked_at <= now):
        raise UnauthorizedError("this token is not known here")
    return by_token(Role(row.role), row.id)


def list_tokens(session: Session) -> tuple[TokenLine, ...]:
    """All tokens there ever were, in the order in which they were made."""
    rows = session.scalars(select(ApiToken).order_by(ApiToken.id))
    return tuple(TokenLine(r.id, Role(r.role), r.created_at, r.revoked_at) for r in rows)


def end_token(session: Session, number: int, now: datetime) -> Who:
    """Let nobody in with it any more; whose it was.

    Raises:
        NotFoundError: there is none with this number that still lets anybody in.
    """
    role = session.scalar(
        update(ApiToken)
        .where(ApiToken.id == number, ApiToken.revoked_at.is_(None))
        .values(revoked_at=now)
        .returning(ApiToken.role)
    )
    if role is None:
        raise NotFoundError(f"there is no token {number}, or it was ended before")
    return by_token(Role(role), number)
