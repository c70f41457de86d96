"""Links that work once: to sign in, or to choose a password.

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
    "end_links",
    "issue_link",
    "look_at_account_link",
    "look_at_link",
    "redeem_account_link",
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
    session: Session,
    role: Role,
    now: datetime,
    valid_for: timedelta = VALID_FOR,
    account: str | None = None,
) -> str:
    """The secret part of a new link: to sign in as a role, or for an account to choose a password.

    An account has one such link at a time: earlier ones stop working.
    """
    if account is not None:
        end_links(session, account, now)
    secret = new_secret()
    session.add(
        EntryLink(
            token_hash=hashed(secret),
            role=role.value,
            created_at=now,
            expires_at=now + valid_for,
            account=account,
        )
    )
    session.flush()
    return secret


def end_links(session: Session, account: str, now: datetime) -> None:
    """Links given to this account work no more."""
    session.execute(
        update(EntryLink)
        .where(EntryLink.account == account, EntryLink.used_at.is_(None))
        .values(used_at=now)
        .execution_options(synchronize_session=False)
    )


def look_at_link(session: Session, secret: str, now: datetime) -> Role:
    """What the link would sign in as; changes nothing.

    Raises:
        LinkUnknownError, LinkAlreadyUsedError, LinkExpiredError: it would not sign in.
    """
    row = _look(session, secret, now)
    if row.account is not None:
        raise LinkUnknownError("this link is for choosing a password")
    return Role(row.role)


def look_at_account_link(session: Session, secret: str, now: datetime) -> str:
    """Whose password the link lets choose: the account's login; changes nothing.

    Raises:
        LinkUnknownError, LinkAlreadyUsedError, LinkExpiredError: it lets nobody.
    """
    row = _look(session, secret, now)
    if row.account is None:
        raise LinkUnknownError("this link is for signing in")
    return row.account


def redeem_link(session: Session, secret: str, now: datetime) -> Role:
    """Use the link up and say what it signs in as.

    Raises:
        LinkUnknownError, LinkAlreadyUsedError, LinkExpiredError: it does not sign in.
    """
    role = look_at_link(session, secret, now)
    _use_up(session, secret, now)
    return role


def redeem_account_link(session: Session, secret: str, now: datetime) -> str:
    """Use the link up and say for whose account: its login.

    Raises:
        LinkUnknownError, LinkAlreadyUsedError, LinkExpiredError: it is good for nothing.
    """
    login = look_at_account_link(session, secret, now)
    _use_up(session, secret, now)
    return login


def _look(session: Session, secret: str, now: datetime) -> EntryLink:
    row = session.get(EntryLink, hashed(secret), populate_existing=True)
    if row is None:
        raise LinkUnknownError("this link is not known here")
    if row.used_at is not None:
        raise LinkAlreadyUsedError("this link has been used; ask for a new one")
    if row.expires_at <= now:
        raise LinkExpiredError("this link is too old; ask for a new one")
    return row


def _use_up(session: Session, secret: str, now: datetime) -> None:
    """One conditional UPDATE, so that of many who press at once one gets in."""
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
        raise LinkAlreadyUsedError("this link has been used; ask for a new one")
