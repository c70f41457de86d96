"""Tokens, links that work once, sessions: with a real database."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session
from whole_service import migrated

from service.auth.links import (
    LinkAlreadyUsedError,
    LinkExpiredError,
    LinkUnknownError,
    issue_link,
    look_at_account_link,
    look_at_link,
    redeem_account_link,
    redeem_link,
)
from service.auth.policies import Act, may
from service.auth.roles import Role
from service.auth.sessions import (
    CookieTerms,
    close_session,
    end_sessions,
    forget_ended_sessions,
    note_seen,
    open_session,
    open_sessions,
    seen_is_due,
    session_who,
)
from service.auth.tokens import end_token, issue_token, list_tokens, who_bears
from service.auth.who import Who, by_token
from service.errors import NotFoundError, UnauthorizedError
from service.store.database import Database
from service.store.tables import Account, ApiToken, EntryLink, StaffSession

NOW = datetime(2026, 1, 10, 1, 0, tzinfo=UTC)


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    """An empty database in a file."""
    path = tmp_path / "endswitch.db"
    path.write_bytes(migrated())
    opened = Database(f"sqlite:///{path}")
    yield opened
    opened.close()


@pytest.mark.parametrize("role", Role)
def test_a_token_names_its_role_and_is_kept_as_a_hash(database: Database, role: Role) -> None:
    """The database holds nothing anybody could sign in with."""
    with database.transaction() as session:
        token = issue_token(session, role, NOW)
    assert token.startswith(f"es_{role.value}_")
    with database.reading() as session:
        assert who_bears(session, token, NOW).role is role
        stored = session.scalars(select(ApiToken.token_hash)).one()
    assert token not in stored
    assert len(stored) == 64  # hex of 256 bits, FIPS 180-4


def test_a_role_cannot_be_claimed_by_renaming_a_token(database: Database) -> None:
    """The prefix is for people; only the whole token counts."""
    with database.transaction() as session:
        token = issue_token(session, Role.TRUCK, NOW)
        for wrong in ("", "es_owner_", token.replace("truck", "owner"), token[:-1], "x" * 10_000):
            with pytest.raises(UnauthorizedError):
                who_bears(session, wrong, NOW)


def test_an_ended_token_is_unknown_and_the_others_stay(database: Database) -> None:
    """Each has a number, by which it is ended once and for all without having to be shown again."""
    with database.transaction() as session:
        token, other = (issue_token(session, Role.DESK, NOW) for _ in range(2))
        number = int(who_bears(session, token, NOW).account.removeprefix("token:desk:"))
        assert end_token(session, number, NOW) == by_token(Role.DESK, number)
        with pytest.raises(NotFoundError):
            end_token(session, number, NOW)
        with pytest.raises(UnauthorizedError):
            who_bears(session, token, NOW)
        assert who_bears(session, other, NOW).role is Role.DESK
        assert [line.ended_at for line in list_tokens(session)] == [NOW, None]


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


def role_now(session: Session, cookie: str | None, now: datetime) -> Role | None:
    """The role of a session that is still open."""
    who = session_who(session, cookie, now)
    return who.role if who is not None else None


# Idle: NIST SP 800-63B-4, 2.2.3 advises no more than an hour; absolute: a shift.
@pytest.mark.parametrize(
    ("role", "minutes"),
    [(Role.DESK, 60), (Role.OWNER, 60), (Role.ADMIN, 30), (Role.TRUCK, 12 * 60)],
)
def test_a_session_ends_when_idle_and_after_twelve_hours_whatever_happens(
    database: Database, role: Role, minutes: int
) -> None:
    """Whoever does something stays, up to the end fixed when it was opened."""
    end, second = NOW + timedelta(hours=12), timedelta(seconds=1)
    idle = timedelta(minutes=minutes)
    with database.transaction() as session:
        cookie = open_session(session, role, NOW)
        assert role_now(session, cookie, NOW + idle - second) is role
        assert role_now(session, cookie, NOW + idle) is None
        now = NOW
        while now + idle < end:
            now += idle - second
            assert role_now(session, cookie, now) is role
            note_seen(session, cookie, now)
        note_seen(session, cookie, end - second)
        assert role_now(session, cookie, end - second) is role
        assert role_now(session, cookie, end) is None
        forget_ended_sessions(session, end)
        assert session.scalars(select(StaffSession)).all() == []


def test_being_seen_is_written_down_every_five_minutes(database: Database) -> None:
    """So that looking at pages seldom has to wait for writers."""
    with database.transaction() as session:
        cookie = open_session(session, Role.DESK, NOW)
        assert not seen_is_due(session, cookie, NOW + timedelta(minutes=4, seconds=59))
        assert seen_is_due(session, cookie, NOW + timedelta(minutes=5))
        assert not seen_is_due(session, "made up", NOW + timedelta(hours=1))


def test_signing_out_ends_one_session_or_all(database: Database) -> None:
    """One, all of an account, or all opened by links of a role; others stay."""
    with database.transaction() as session:
        session.add(Account(login="moreno", name="R. Moreno", role="desk", created_at=NOW))
        session.flush()
        mine = [open_session(session, Role.DESK, NOW, "moreno") for _ in range(3)]
        linked = open_session(session, Role.DESK, NOW)
        truck = open_session(session, Role.TRUCK, NOW)

        def open_ones() -> list[bool]:
            return [role_now(session, c, NOW) is not None for c in (*mine, linked, truck)]

        close_session(session, mine[0])
        assert open_ones() == [False, True, True, True, True]
        assert end_sessions(session, "moreno") == 2
        assert open_ones() == [False, False, False, True, True]
        assert end_sessions(session, "link:desk") == 1
        assert open_ones() == [False, False, False, False, True]
        assert [one.who.account for one in open_sessions(session, NOW)] == ["link:truck"]
        assert role_now(session, None, NOW) is None
        assert role_now(session, "made up", NOW) is None


def test_a_session_of_an_account_has_the_accounts_role_of_now(database: Database) -> None:
    """A changed role and a switched-off account count with the next request."""
    with database.transaction() as session:
        account = Account(login="moreno", name="R. Moreno", role="desk", created_at=NOW)
        session.add(account)
        session.flush()
        cookie = open_session(session, Role.DESK, NOW, "moreno")
        assert session_who(session, cookie, NOW) == Who("moreno", Role.DESK, "R. Moreno")
        account.role = "truck"
        assert role_now(session, cookie, NOW) is Role.TRUCK
        account.off_at = NOW
        assert session_who(session, cookie, NOW) is None
        assert open_sessions(session, NOW) == ()


def test_a_link_for_a_password_signs_nobody_in_and_the_other_way_round(
    database: Database,
) -> None:
    """Each kind of link is unknown where the other is asked for; a new one ends the last one."""
    with database.transaction() as session:
        session.add(Account(login="moreno", name="R. Moreno", role="desk", created_at=NOW))
        session.flush()
        first = issue_link(session, Role.DESK, NOW, account="moreno")
        second = issue_link(session, Role.DESK, NOW, account="moreno")
        sign_in = issue_link(session, Role.DESK, NOW)
        for call in (look_at_link, redeem_link):
            with pytest.raises(LinkUnknownError):
                call(session, second, NOW)
        for call_account in (look_at_account_link, redeem_account_link):
            with pytest.raises(LinkUnknownError):
                call_account(session, sign_in, NOW)
            with pytest.raises(LinkAlreadyUsedError):
                call_account(session, first, NOW)
        assert redeem_account_link(session, second, NOW) == "moreno"
        with pytest.raises(LinkAlreadyUsedError):
            redeem_account_link(session, second, NOW)


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites() -> None:
    """HttpOnly, SameSite=Lax, and Secure where people reach us over https."""
    terms = CookieTerms(secure=True)
    assert (terms.httponly, terms.samesite, terms.secure, terms.max_age) == (
        True,
        "lax",
        True,
        12 * 3600,
    )
    # RFC 6265bis, 4.1.3.2: such a name is taken only with Secure, Path=/ and without Domain.
    assert (terms.name, terms.path) == ("__Host-endswitch", "/")
    assert CookieTerms(secure=False).name == "endswitch"  # browsers refuse the prefix on http


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
    Act.ACT_ON_TICKETS: {Role.DESK, Role.ADMIN},
}


@pytest.mark.parametrize("act", Act)
def test_each_act_is_for_the_roles_promised(act: Act) -> None:
    """No role can do more or less than the interface says."""
    assert {role for role in Role if may(role, act)} == PROMISED[act]
