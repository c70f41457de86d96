"""How often signing in may be tried: per account and per address, counted over rows.

A stranger who tries an account again and again must not lock its person out: an address from which
the account was signed in lately has its own count. What was typed counts whether or not there is such
an account, so limits tell nothing either. Rows hold hashes; that keeps addresses from lying about in
clear, though whoever has the rows could try all addresses.
"""

from __future__ import annotations

import ipaddress
from datetime import datetime, timedelta

from sqlalchemy import ColumnElement, delete, func, select, text
from sqlalchemy.orm import Session

from service.auth.secrets_kept import hashed
from service.errors import EndswitchError
from service.store.tables import SignInTry

__all__ = ["WINDOW", "TooManyTriesError", "begin_try", "try_was_good"]

WINDOW = timedelta(minutes=15)
MOST_FOR_LOGIN = 10  # wrong passwords for one account within the window
MOST_FROM_ADDRESS = 20  # and from one address, whatever the accounts
KNOWN_FOR = timedelta(days=30)  # how long an address counts as the account's own
# Any fixed number: on PostgreSQL, tries are counted one after the other.
TRIES_LOCK = 0x7369676E


class TooManyTriesError(EndswitchError):
    """Wrong passwords have been tried too often; nothing was compared."""

    code = "too_many_tries"
    status = 429

    def __init__(self, minutes: int) -> None:
        """Say when it may be tried again."""
        super().__init__(f"Too many tries. Try again in {minutes} minutes.")
        self.minutes = minutes


def begin_try(session: Session, now: datetime, login: str, address: str) -> int:
    """Count a try before anything is compared; its id.

    Raises:
        TooManyTriesError: the account or the address has had its share.
    """
    if session.get_bind().dialect.name != "sqlite":  # on SQLite writers take turns anyway
        session.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": TRIES_LOCK})
    who, where = hashed(f"login/{login}"), hashed(f"address/{_network(address)}")
    from_here = SignInTry.address_hash == where
    _refuse_beyond(session, now, MOST_FROM_ADDRESS, from_here)
    mine = SignInTry.login_hash == who
    known = session.scalar(
        select(SignInTry.id)
        .where(mine, from_here, SignInTry.good.is_(True), SignInTry.at > now - KNOWN_FOR)
        .limit(1)
    )
    _refuse_beyond(session, now, MOST_FOR_LOGIN, mine, *([from_here] if known is not None else []))
    row = SignInTry(at=now, login_hash=who, address_hash=where, good=False)
    session.add(row)
    session.flush()
    return row.id


def try_was_good(session: Session, now: datetime, try_id: int) -> None:
    """The password was right; what is too old to count is forgotten."""
    session.get_one(SignInTry, try_id).good = True
    session.execute(delete(SignInTry).where(SignInTry.at <= now - KNOWN_FOR))


def _refuse_beyond(session: Session, now: datetime, most: int, *which: ColumnElement[bool]) -> None:
    wrong = (*which, SignInTry.good.is_(False), SignInTry.at > now - WINDOW)
    count, oldest = session.execute(
        select(func.count(), func.min(SignInTry.at)).where(*wrong)
    ).one()
    if count >= most:
        left = (oldest + WINDOW - now).total_seconds()
        raise TooManyTriesError(max(1, -int(-left // 60)))


def _network(address: str) -> str:
    """An address as far as one household or office shares it: an IPv6 line has 2^64 of them."""
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return address
    if isinstance(found, ipaddress.IPv6Address):
        return str(ipaddress.ip_network((found, 64), strict=False))
    return str(found)
