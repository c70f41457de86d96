"""Sign-in links that work once.

Opening the link only shows a button, because mail scanners and previews open links too; pressing it
redeems the link with one conditional UPDATE, so that of many presses exactly one counts.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import cast

from sqlalchemy import CursorResult, update
from sqlalchemy.orm import Session

from service.auth.roles import Role
from service.auth.secrets_kept import hashed, new_secret
from service.errors import EndswitchError
from service.store.tables import EntryLink

__all__ = [
    "LinkAlreadyUsedError",
    "LinkExpiredError",
    "LinkUnknownError",
    "issue_link",
    "look_at_link",
    "redeem_link",
]

VALID_FOR = timedelta(minutes=15)


class LinkUnknownError(EndswitchError):
    """No link like this was ever given out."""

    code = "link_unknown"
    status = 404


class LinkAlreadyUsedError(EndswitchError):
    """Somebody has signed in with this link."""

    code = "link_already_used"
    status = 410


class LinkExpiredError(EndswitchError):
    """The link was not used in time."""

    code = "link_expired"
    status = 410


def issue_link(
    session: Session, role: Role, now: datetime, valid_for: timedelta = VALID_FOR
) -> str:
    """The secret part of a new link."""
    secret = new_secret()
    session.add(
        EntryLink(
            token_hash=hashed(secret),
            role=role.value,
            created_at=now,
            expires_at=now + valid_for,
        )
    )
    session.flush()
    return secret


def look_at_link(session: Session, secret: str, now: datetime) -> Role:
    """What the link would sign in as; changes nothing.

    Raises:
        LinkUnknownError, LinkAlreadyUsedError, LinkExpiredError: it would not sign in.
    """
    row = session.get(EntryLink, hashed(secret), populate_existing=True)
    if row is None:
        raise LinkUnknownError("this link is not known here")
    if row.used_at is not None:
        raise LinkAlreadyUsedError("this link has been used; ask for a new one")
    if row.expires_at <= now:
        raise LinkExpiredError("this link is too old; ask for a new one")
    return Role(row.role)


def redeem_link(session: Session, secret: str, now: datetime) -> Role:
    """Use the link up and say what it signs in as.

    Raises:
        LinkUnknownError, LinkAlreadyUsedError, LinkExpiredError: it does not sign in.
    """
    used = session.execute(
        update(EntryLink)
        .where(
            EntryLink.token_hash == hashed(secret),
            EntryLink.used_at.is_(None),
            EntryLink.expires_at > now,
        )
        .values(used_at=now)
        .execution_options(synchronize_session=False)
    )
    if cast("CursorResult[EntryLink]", used).rowcount != 1:
        look_at_link(session, secret, now)  # says why
        raise LinkAlreadyUsedError("this link has been used; ask for a new one")
    row = session.get_one(EntryLink, hashed(secret), populate_existing=True)
    return Role(row.role)
