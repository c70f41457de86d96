"""How often signing in may be tried; on SQLite and, where there is one, PostgreSQL."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select

from service.auth.sign_in_limits import TooManyTriesError, begin_try, try_was_good
from service.store.database import Database
from service.store.tables import SignInTry

NOW = datetime(2026, 1, 10, 1, 0, tzinfo=UTC)
HERE, ELSEWHERE = "192.0.2.7", "198.51.100.9"  # RFC 5737


def tries(db: Database, login: str, address: str, now: datetime = NOW, most: int = 40) -> int:
    """How many wrong tries go through until one is refused."""
    for count in range(most):
        try:
            with db.transaction() as session:
                begin_try(session, now, login, address)
        except TooManyTriesError:
            return count
    return most


def test_an_account_may_be_tried_ten_times_in_a_quarter_hour(database: Database) -> None:
    """The eleventh is refused, whatever the address, and says when; then it goes on."""
    assert tries(database, "moreno", HERE) == 10
    assert tries(database, "moreno", ELSEWHERE) == 0
    with pytest.raises(TooManyTriesError) as refused, database.transaction() as session:
        begin_try(session, NOW + timedelta(minutes=4, seconds=30), "moreno", HERE)
    assert refused.value.minutes == 11  # 10.5 are left
    assert tries(database, "moreno", HERE, NOW + timedelta(minutes=15)) == 10


def test_an_address_may_try_twenty_times_whatever_the_accounts(database: Database) -> None:
    """Guessing one password for many accounts ends too; an IPv6 line counts as one (RFC 4291)."""
    for number in range(20):
        assert tries(database, f"account-{number}", f"2001:db8::{number:x}", most=1) == 1
    assert tries(database, "another", "2001:db8:0:0:ffff::1") == 0
    assert tries(database, "another", "2001:db8:0:1::1", most=1) == 1


def test_a_stranger_cannot_lock_an_account_out_of_its_own_address(database: Database) -> None:
    """Where the account was signed in within thirty days, it has tries of its own."""
    with database.transaction() as session:
        try_was_good(session, NOW, begin_try(session, NOW, "moreno", HERE))
    assert tries(database, "moreno", ELSEWHERE) == 10
    assert tries(database, "moreno", HERE) == 10
    late = NOW + timedelta(days=30)
    assert tries(database, "moreno", ELSEWHERE, late) == 10
    assert tries(database, "moreno", HERE, late) == 0


def test_good_tries_do_not_count_and_old_ones_are_forgotten(database: Database) -> None:
    """Somebody who signs in all day is never refused, and rows do not pile up."""
    for minute in range(25):
        with database.transaction() as session:
            now = NOW + timedelta(minutes=minute // 5)
            try_was_good(session, now, begin_try(session, now, "moreno", HERE))
    much_later = NOW + timedelta(days=31)
    with database.transaction() as session:
        try_was_good(session, much_later, begin_try(session, much_later, "moreno", HERE))
        rows = session.scalars(select(SignInTry)).all()
    assert len(rows) == 1
    assert "moreno" not in rows[0].login_hash
    assert HERE not in rows[0].address_hash
