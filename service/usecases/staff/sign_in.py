"""Signing in, by password or by link, and choosing a password."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from service.auth.links import look_at_account_link, redeem_account_link, redeem_link
from service.auth.passwords import check_password, hash_password, wrong_with
from service.auth.roles import Role
from service.auth.sessions import (
    close_session,
    end_sessions,
    forget_ended_sessions,
    open_session,
)
from service.auth.sign_in_limits import begin_try, try_was_good
from service.auth.who import Who, by_link
from service.errors import EndswitchError, InvalidError, NotFoundError
from service.store.tables import Account
from service.usecases.rows.audit import note_act, note_refusal
from service.usecases.rows.services import Services
from service.usecases.staff.accounts import LOGIN, ROLES

__all__ = [
    "Attempt",
    "WrongSignInError",
    "change_password",
    "choose_password",
    "enter_by_link",
    "sign_in",
    "sign_out",
    "whose_link",
]


class WrongSignInError(EndswitchError):
    """No such account, a wrong password or a switched-off account: never said which."""

    code = "wrong_sign_in"
    status = 422


@dataclass(frozen=True, slots=True)
class Attempt:
    """What somebody typed, and where they come from."""

    login: str
    password: str
    address: str
    old_cookie: str | None = None  # of the session this device had


def sign_in(services: Services, attempt: Attempt) -> tuple[str, Who]:
    """Open a session with a password: the value of its cookie, and whose it is.

    The password is compared between two transactions, so that nobody waits for it.

    Raises:
        WrongSignInError: it does not fit.
        TooManyTriesError: it was tried too often; nothing was compared.
        TryLaterError: many people are signing in.
    """
    login, now = attempt.login.strip().lower(), services.now()
    with services.db.transaction() as session:
        try_id = begin_try(session, now, login, attempt.address)
        account = _usable(session, login)
        stored = account.password_hash if account is not None else None
    checked = check_password(stored, attempt.password)
    with services.db.transaction() as session:
        account = _usable(session, login)
        # Reset or switched off while we were comparing: then it no longer fits.
        if not checked.right or account is None or account.password_hash != stored:
            note_refusal(session, now, "sign-in refused", *_what_failed(session, login))
        else:
            account.password_hash = checked.renewed or stored
            try_was_good(session, now, try_id)
            who = _who(account)
            return _open(session, now, who, attempt.old_cookie, "password"), who
    raise WrongSignInError("The account or the password is not right.")


def enter_by_link(
    session: Session, now: datetime, secret: str, old_cookie: str | None
) -> tuple[str, Who]:
    """Open a session with a link that works once: the value of its cookie, and whose it is.

    Raises:
        LinkUnknownError, LinkAlreadyUsedError, LinkExpiredError: the link does not sign in.
    """
    who = by_link(redeem_link(session, secret, now))
    return _open(session, now, who, old_cookie, "link"), who


def whose_link(session: Session, now: datetime, secret: str) -> Who:
    """Whose password a link lets choose.

    Raises:
        LinkUnknownError, LinkAlreadyUsedError, LinkExpiredError: it lets nobody.
    """
    return _who(session.get_one(Account, look_at_account_link(session, secret, now)))


def choose_password(
    services: Services, secret: str, password: str, old_cookie: str | None
) -> tuple[str, Who]:
    """Use a link up, keep the new password, end other sessions and open one here.

    Raises:
        LinkUnknownError, LinkAlreadyUsedError, LinkExpiredError: the link is not good.
        InvalidError: the password is not good enough; the link is still good.
    """
    now = services.now()
    with services.db.reading() as session:
        _refuse_weak(password, whose_link(session, now, secret))
    made = hash_password(password)
    with services.db.transaction() as session:
        account = session.get_one(Account, redeem_account_link(session, secret, now))
        who = _who(account)
        _keep(session, now, who, account, made, "link")
        return _open(session, now, who, old_cookie, "link"), who


def change_password(services: Services, who: Who, attempt: Attempt, password: str) -> str:
    """A person replaces their own password: other sessions end; the value of the new cookie.

    Raises:
        NotFoundError: whoever signed in with a link has no password.
        InvalidError: the new one is not good enough.
        WrongSignInError: the present password is not right.
        TooManyTriesError: it was tried too often.
    """
    now = services.now()
    _refuse_weak(password, who)
    with services.db.transaction() as session:
        account = _usable(session, who.account)
        if account is None:
            raise NotFoundError("you signed in with a link; there is no password to change")
        try_id = begin_try(session, now, who.account, attempt.address)
        stored = account.password_hash
    right = check_password(stored, attempt.password).right
    made = hash_password(password) if right else ""
    with services.db.transaction() as session:
        account = _usable(session, who.account)
        # Reset or switched off while we were comparing: then it no longer fits.
        if right and account is not None and account.password_hash == stored:
            try_was_good(session, now, try_id)
            _keep(session, now, who, account, made, "password")
            return _open(session, now, who, attempt.old_cookie, "password")
        note_refusal(session, now, "password change refused", who.account, "wrong password")
    raise WrongSignInError("Your present password is not right.")


def sign_out(session: Session, now: datetime, who: Who | None, cookie: str) -> None:
    """End one session."""
    close_session(session, cookie)
    if who is not None:
        note_act(session, now, who, "signed out", who.account, {})


def _usable(session: Session, login: str) -> Account | None:
    """The account with this login, if somebody may sign in with it."""
    row = session.get(Account, login, populate_existing=True) if LOGIN.fullmatch(login) else None
    return row if row is not None and row.off_at is None and row.password_hash else None


def _what_failed(session: Session, login: str) -> tuple[str, str]:
    """The subject and the reason; what was typed may be a password, so only known logins are kept."""
    row = session.get(Account, login) if LOGIN.fullmatch(login) else None
    if row is None:
        return "unknown account", "unknown account"
    if row.off_at is not None:
        return login, "switched off"
    return login, "wrong password" if row.password_hash else "no password yet"


def _open(session: Session, now: datetime, who: Who, old_cookie: str | None, how: str) -> str:
    """A session under a new secret; the one this device had is closed (a planted one is of no use)."""
    forget_ended_sessions(session, now)
    if old_cookie:
        close_session(session, old_cookie)
    if who.role not in ROLES:
        raise WrongSignInError("The gateway has no pages.")
    account = None if who.account.startswith("link:") else who.account
    note_act(session, now, who, "signed in", who.account, {"how": how})
    return open_session(session, who.role, now, account)


def _keep(session: Session, now: datetime, who: Who, account: Account, made: str, how: str) -> None:
    account.password_hash, account.password_set_at = made, now
    ended = end_sessions(session, account.login)
    note_act(
        session, now, who, "password set", account.login, {"how": how, "sessions_ended": ended}
    )


def _who(account: Account) -> Who:
    return Who(account.login, Role(account.role), account.name)


def _refuse_weak(password: str, who: Who) -> None:
    wrong = wrong_with(password, (who.account, who.name))
    if wrong is not None:
        raise InvalidError(wrong)
