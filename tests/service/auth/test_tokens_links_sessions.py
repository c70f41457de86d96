"""Tokens, links that work once, sessions: with a real database."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from service.auth.links import (
    LinkAlreadyUsedError,
    LinkExpiredError,
    LinkUnknownError,
    issue_link,
    look_at_link,
    redeem_link,
)
from service.auth.policies import Act, may
from service.auth.roles import Role
from service.auth.sessions import (
    CookieTerms,
    close_session,
    forget_ended_sessions,
    open_session,
    session_role,
)
from service.auth.tokens import issue_token, revoke_token, role_of
from service.errors import UnauthorizedError
from service.store.database import Database
from service.store.migrations import migrate
from service.store.tables import ApiToken, EntryLink, StaffSession

NOW = datetime(2026, 1, 10, 1, 0, tzinfo=UTC)


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    """An empty database in a file."""
    opened = Database(f"sqlite:///{tmp_path / 'endswitch.db'}")
    migrate(opened.engine)
    yield opened
    opened.close()


@pytest.mark.parametrize("role", Role)
def test_a_token_names_its_role_and_is_kept_as_a_hash(database: Database, role: Role) -> None:
    """The database holds nothing anybody could sign in with."""
    with database.transaction() as session:
        token = issue_token(session, role, NOW)
    assert token.startswith(f"es_{role.value}_")
    with database.reading() as session:
        assert role_of(session, token, NOW) is role
        stored = session.scalars(select(ApiToken.token_hash)).one()
    assert token not in stored
    assert len(stored) == 64  # hex of 256 bits, FIPS 180-4


def test_a_role_cannot_be_claimed_by_renaming_a_token(database: Database) -> None:
    """The prefix is for people; only the whole token counts."""
    with database.transaction() as session:
        token = issue_token(session, Role.TRUCK, NOW)
        for wrong in ("", "es_owner_", token.replace("truck", "owner"), token[:-1], "x" * 10_000):
            with pytest.raises(UnauthorizedError):
                role_of(session, wrong, NOW)


def test_a_revoked_token_is_unknown(database: Database) -> None:
    """Revoking works once and for all."""
    with database.transaction() as session:
        token = issue_token(session, Role.DESK, NOW)
        assert revoke_token(session, token, NOW)
        assert not revoke_token(session, token, NOW)
        with pytest.raises(UnauthorizedError):
            role_of(session, token, NOW)


def test_a_link_is_looked_at_often_and_redeemed_once(database: Database) -> None:
    """Previews burn nothing; the second press is told that the link was used."""
    with database.transaction() as session:
        secret = issue_link(session, Role.TRUCK, NOW)
        assert [look_at_link(session, secret, NOW) for _ in range(3)] == [Role.TRUCK] * 3
        assert redeem_link(session, secret, NOW) is Role.TRUCK
        with pytest.raises(LinkAlreadyUsedError):
            redeem_link(session, secret, NOW)
        with pytest.raises(LinkAlreadyUsedError):
            look_at_link(session, secret, NOW)
        assert secret not in session.scalars(select(EntryLink.token_hash)).all()


def test_a_link_ends_at_its_time(database: Database) -> None:
    """Fifteen minutes unless told otherwise; at the very end it is over."""
    with database.transaction() as session:
        short = issue_link(session, Role.DESK, NOW)
        long = issue_link(session, Role.DESK, NOW, timedelta(hours=2))
        late = NOW + timedelta(minutes=15)
        with pytest.raises(LinkExpiredError):
            redeem_link(session, short, late)
        assert redeem_link(session, long, late) is Role.DESK
        with pytest.raises(LinkUnknownError):
            redeem_link(session, "made up", NOW)


def test_of_eight_who_redeem_one_link_one_wins(database: Database) -> None:
    """Threads that start together at a barrier: one role, seven refusals."""
    with database.transaction() as session:
        secret = issue_link(session, Role.OWNER, NOW)
    together = threading.Barrier(8)
    outcomes: list[str] = []

    def press() -> None:
        together.wait()
        try:
            with database.transaction() as session:
                outcomes.append(redeem_link(session, secret, NOW).value)
        except LinkAlreadyUsedError:
            outcomes.append("used")

    threads = [threading.Thread(target=press) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["owner"] + ["used"] * 7


def test_a_session_lasts_twelve_hours_whatever_happens(database: Database) -> None:
    """The end is fixed when it is opened; signing out ends it at once."""
    with database.transaction() as session:
        cookie = open_session(session, Role.DESK, NOW)
        other = open_session(session, Role.DESK, NOW)
        end = NOW + timedelta(hours=12)
        assert session_role(session, cookie, end - timedelta(seconds=1)) is Role.DESK
        assert session_role(session, cookie, end) is None
        close_session(session, other)
        assert session_role(session, other, NOW) is None
        assert session_role(session, None, NOW) is None
        assert session_role(session, "made up", NOW) is None
        forget_ended_sessions(session, end)
        assert session.scalars(select(StaffSession)).all() == []


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites() -> None:
    """HttpOnly, SameSite=Lax, and Secure where people reach us over https."""
    terms = CookieTerms(secure=True)
    assert (terms.httponly, terms.samesite, terms.secure, terms.max_age) == (
        True,
        "lax",
        True,
        12 * 3600,
    )


# Who may do what, as promised to the outside (the roles of each call of the HTTP interface).
PROMISED = {
    Act.KEEP_BUILDINGS: {Role.OWNER},
    Act.KEEP_WEATHER: {Role.OWNER},
    Act.MOVE_CLOCK: {Role.OWNER},
    Act.DELIVER_TEXTS: {Role.GATEWAY},
    Act.READ_TEXTS: {Role.DESK, Role.ADMIN},
    Act.SEE_INBOX: {Role.DESK, Role.ADMIN},
    Act.SEE_COMPLAINTS: {Role.DESK, Role.ADMIN},
    Act.SEE_TICKETS: {Role.DESK, Role.TRUCK, Role.ADMIN},
    Act.RECORD_FINDINGS: {Role.TRUCK},
    Act.CLOSE_TICKETS: {Role.TRUCK},
    Act.HANDLE_ALERTS: {Role.DESK, Role.ADMIN},
    Act.CONFIRM_SENDERS: {Role.DESK, Role.ADMIN},
    Act.SEND_NEWS: {Role.DESK, Role.ADMIN},
}


@pytest.mark.parametrize("act", Act)
def test_each_act_is_for_the_roles_promised(act: Act) -> None:
    """No role can do more or less than the interface says."""
    assert {role for role in Role if may(role, act)} == PROMISED[act]
