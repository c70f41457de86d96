"""Bearer tokens for programs and scripts: ``es_<role>_<random>``, shown once, revocable."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from service.auth.roles import Role
from service.auth.secrets_kept import hashed, new_secret
from service.errors import UnauthorizedError
from service.store.tables import ApiToken

__all__ = ["issue_token", "revoke_token", "role_of"]


def issue_token(session: Session, role: Role, now: datetime) -> str:
    """A new token; this is the only time it can be seen."""
    token = new_secret(f"es_{role.value}_")
    session.add(ApiToken(role=role.value, token_hash=hashed(token), created_at=now))
    session.flush()
    return token


def role_of(session: Session, bearer: str, now: datetime) -> Role:
    """The role of a token.

    Raises:
        UnauthorizedError: the token is unknown or was revoked.
    """
    row = session.scalar(select(ApiToken).where(ApiToken.token_hash == hashed(bearer)))
    if row is None or (row.revoked_at is not None and row.revoked_at <= now):
        raise UnauthorizedError("this token is not known here")
    return Role(row.role)


def revoke_token(session: Session, token: str, now: datetime) -> bool:
    """End a token; whether there was one to end."""
    ended = session.execute(
        update(ApiToken)
        .where(ApiToken.token_hash == hashed(token), ApiToken.revoked_at.is_(None))
        .values(revoked_at=now)
        .returning(ApiToken.id)
    )
    return ended.first() is not None
