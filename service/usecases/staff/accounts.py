"""Accounts of staff: added, changed, reset, switched off and on, signed out everywhere."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.auth.links import end_links, issue_link
from service.auth.roles import Role
from service.auth.sessions import end_sessions
from service.auth.who import Who
from service.errors import ConflictError, InvalidError, NotFoundError, PointedError
from service.store.tables import Account
from service.usecases.rows.audit import note_act

__all__ = [
    "LINK_HOURS",
    "ROLES",
    "AccountLine",
    "add_account",
    "change_role",
    "list_accounts",
    "reset_account",
    "sign_out_everywhere",
    "switch_off",
    "switch_on",
]

ROLES = (Role.DESK, Role.TRUCK, Role.OWNER, Role.ADMIN)  # the gateway has a token, not an account
LINK_HOURS = 24  # how long a link to choose a password is good
LOGIN = re.compile(r"[a-z0-9][a-z0-9._-]{1,31}")
LONGEST_NAME = 60


@dataclass(frozen=True, slots=True)
class AccountLine:
    """An account as the admin sees it."""

    login: str
    name: str
    role: Role
    is_off: bool
    has_password: bool


def list_accounts(session: Session) -> tuple[AccountLine, ...]:
    """All accounts, those in use first."""
    rows = session.scalars(select(Account).order_by(Account.off_at.is_not(None), Account.login))
    return tuple(
        AccountLine(
            row.login,
            row.name,
            Role(row.role),
            row.off_at is not None,
            row.password_hash is not None,
        )
        for row in rows
    )


def add_account(
    session: Session, now: datetime, who: Who, login: str, name: str, role: Role
) -> str:
    """A new account; the secret of the link with which its person chooses a password.

    Raises:
        InvalidError: the login or the name cannot be used.
        ConflictError: the login is taken.
    """
    login, name = login.strip().lower(), " ".join(name.split())
    wrong = []
    if not LOGIN.fullmatch(login):
        says = "use 2 to 32 small letters, digits, dots, dashes or underlines"
        wrong.append(PointedError("/login", says))
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        wrong.append(PointedError("/name", f"give a name of up to {LONGEST_NAME} characters"))
    if role not in ROLES:
        wrong.append(PointedError("/role", "choose desk, truck, owner or admin"))
    if wrong:
        raise InvalidError("; ".join(error.detail for error in wrong), wrong)
    if session.get(Account, login) is not None:
        raise ConflictError(f"there is an account {login} already")
    session.add(Account(login=login, name=name, role=role.value, created_at=now))
    session.flush()
    note_act(session, now, who, "account added", login, {"role": role.value})
    return _link(session, now, login, role)


def change_role(session: Session, now: datetime, who: Who, login: str, role: Role) -> None:
    """Give an account another role; it counts at once, also where it is signed in.

    Raises:
        NotFoundError: there is no such account.
        InvalidError: people do not have this role.
        ConflictError: nobody would be left to keep accounts.
    """
    row = _account(session, login)
    if role not in ROLES:
        raise InvalidError("choose desk, truck, owner or admin")
    if row.role == role.value:
        return
    _keep_an_admin(session, row)
    details = {"from": row.role, "to": role.value}
    row.role = role.value
    note_act(session, now, who, "role changed", login, details)


def reset_account(session: Session, now: datetime, who: Who, login: str) -> str:
    """The old password stops working and all sessions end; the secret of a link for a new one.

    Raises:
        NotFoundError: there is no such account.
        ConflictError: it is switched off.
    """
    row = _account(session, login)
    if row.off_at is not None:
        raise ConflictError(f"{login} is switched off; switch it on first")
    row.password_hash = None
    ended = end_sessions(session, login)
    note_act(session, now, who, "password reset", login, {"sessions_ended": ended})
    return _link(session, now, login, Role(row.role))


def switch_off(session: Session, now: datetime, who: Who, login: str) -> None:
    """Nobody signs in with the account any more; its sessions and links end now.

    Raises:
        NotFoundError: there is no such account.
        ConflictError: nobody would be left to keep accounts.
    """
    row = _account(session, login)
    if row.off_at is not None:
        return
    _keep_an_admin(session, row)
    row.off_at = now
    end_links(session, login, now)
    ended = end_sessions(session, login)
    note_act(session, now, who, "account switched off", login, {"sessions_ended": ended})


def switch_on(session: Session, now: datetime, who: Who, login: str) -> None:
    """The account can be used again, with the password it had.

    Raises:
        NotFoundError: there is no such account.
    """
    row = _account(session, login)
    if row.off_at is None:
        return
    row.off_at = None
    note_act(session, now, who, "account switched on", login, {})


def sign_out_everywhere(session: Session, now: datetime, who: Who, account: str) -> int:
    """End all sessions of an account, or those opened by links of a role; how many there were.

    Raises:
        NotFoundError: there is no such account.
    """
    if account not in {f"link:{role.value}" for role in ROLES}:
        _account(session, account)
    ended = end_sessions(session, account)
    note_act(session, now, who, "signed out everywhere", account, {"sessions_ended": ended})
    return ended


def _account(session: Session, login: str) -> Account:
    row = session.get(Account, login) if LOGIN.fullmatch(login) else None
    if row is None:
        raise NotFoundError("there is no such account")
    return row


def _link(session: Session, now: datetime, login: str, role: Role) -> str:
    return issue_link(session, role, now, timedelta(hours=LINK_HOURS), login)


def _keep_an_admin(session: Session, row: Account) -> None:
    """Refuse to take the last admin away who can sign in.

    All admins are locked, in one order: two who switch each other off take turns.
    """
    if row.role != Role.ADMIN.value or row.password_hash is None:
        return
    admins = session.scalars(
        select(Account)
        .where(Account.role == Role.ADMIN.value)
        .order_by(Account.login)
        .with_for_update()
        .execution_options(populate_existing=True)
    ).all()
    others = [a for a in admins if a is not row and a.off_at is None and a.password_hash]
    if not others:
        raise ConflictError("this is the only admin who can sign in; make another one first")
