"""The audit log: nothing can be changed, and what is changed all the same is found."""

from __future__ import annotations

import hashlib
import json
import threading
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import select, text
from sqlalchemy.exc import DatabaseError
from sqlalchemy.orm import Session

from service.auth.roles import Role
from service.auth.who import Who
from service.store.database import Database
from service.store.tables import AuditRow
from service.usecases.rows.audit import note_act, note_refusal
from service.usecases.staff.audit_read import Verified, newest_acts, verify_audit

NOW = datetime(2026, 1, 10, 1, 0, tzinfo=UTC)
DESK = Who("r.moreno", Role.DESK, "R. Moreno")


def write(db: Database, count: int = 5) -> str:
    """Some rows; the head."""
    for number in range(count):
        with db.transaction() as session:
            details = {"reason": "attente de pièce", "minutes": number, "again": None}
            note_act(session, NOW + timedelta(seconds=number), DESK, "ticket held", "t_1", details)
    with db.reading() as session:
        return verify_audit(session).head


def disarm(session: Session) -> None:
    """What somebody does who holds the database itself."""
    if session.get_bind().dialect.name == "sqlite":
        for name in ("no_update", "no_delete", "no_replace"):
            session.execute(text(f"DROP TRIGGER audit_log_{name}"))
    else:
        session.execute(text("ALTER TABLE audit_log DISABLE TRIGGER ALL"))


def after(db: Database, *statements: str, head: str | None = None) -> Verified:
    """What the check says after statements, which are then undone."""
    with db.transaction() as session:
        disarm(session)
        for statement in statements:
            assert session.execute(text(statement)).rowcount > 0  # type: ignore[attr-defined]
        found = verify_audit(session, head)
        session.rollback()
    return found


def test_a_hash_can_be_worked_out_by_anybody(database: Database) -> None:
    """The written form, and SHA-256 as sha256sum of GNU coreutils gives it."""
    with database.transaction() as session:
        note_act(session, NOW, DESK, "ticket held", "t_1", {"until": "2026-01-10", "a": 1})
    written = (
        '{"account":"r.moreno","act":"ticket held","at":"2026-01-10T01:00:00.000000Z",'
        '"details":"{\\"a\\":1,\\"until\\":\\"2026-01-10\\"}",'
        '"previous_hash":"0000000000000000000000000000000000000000000000000000000000000000",'
        '"role":"desk","seq":1,"subject":"t_1"}'
    )
    with database.reading() as session:
        row = session.scalars(select(AuditRow)).one()
        session.expunge(row)
    assert row.hash == "f9dd72a173f09af066fae835a77ef57d73a6d1a13fae630e7a30139e92de0b97"
    assert row.hash == hashlib.sha256(written.encode()).hexdigest()
    assert json.loads(written)["details"] == row.details


def test_a_whole_log_is_good_and_each_column_counts(database: Database) -> None:
    """Any one value of a middle row changed: found, at that row or where its number should be."""
    head = write(database)
    with database.reading() as session:
        assert verify_audit(session) == Verified(5, head)
        assert verify_audit(session, head).broken is None
    changes: dict[str, str] = {
        "seq": "17",
        "at": "'2026-01-09 01:00:02.000000'",
        "account": "'someone'",
        "role": "'admin'",
        "act": "'ticket closed'",
        "subject": "'t_2'",
        "details": "details || ' '",
        "previous_hash": "hash",
        "hash": "previous_hash",
    }
    assert set(changes) == {column.name for column in AuditRow.__table__.columns}
    for column, value in changes.items():
        change = f"UPDATE audit_log SET {column} = {value} WHERE seq = 3"  # noqa: S608
        found = after(database, change)
        assert found.broken is not None, column
        assert "row 3" in found.broken, column
        assert found.rows == 2, column


def test_a_row_taken_out_is_found_and_the_last_ones_by_the_head(database: Database) -> None:
    """A gap, a closed gap, a cut-off end, an emptied log, and all of it written anew."""
    head = write(database)
    out = "DELETE FROM audit_log WHERE seq = 3"
    assert after(database, out).broken == "row 3 is missing"
    up = [f"UPDATE audit_log SET seq = {n - 1} WHERE seq = {n}" for n in (4, 5)]  # noqa: S608
    assert after(database, out, *up).broken == "row 3 does not follow on row 2"
    cut = "DELETE FROM audit_log WHERE seq > 3"
    assert after(database, cut).broken is None  # what is left is a good chain
    assert after(database, cut, head=head).broken == f"the row with the hash {head} is gone"
    assert after(database, "DELETE FROM audit_log", head=head).broken is not None
    with database.transaction() as session:
        note_act(session, NOW, DESK, "ticket held", "t_9", {})
    with database.reading() as session:
        assert verify_audit(session, head) == Verified(6, verify_audit(session).head)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE audit_log SET act = 'nothing' WHERE seq = 2",
        "DELETE FROM audit_log WHERE seq = 5",
        "DELETE FROM audit_log",
    ],
)
def test_the_database_itself_refuses_changes(database: Database, statement: str) -> None:
    """Not even a query of our own program changes or removes a row."""
    head = write(database)
    with (
        pytest.raises(DatabaseError, match="can only be added to"),
        database.transaction() as session,
    ):
        session.execute(text(statement))
    with database.reading() as session:
        assert verify_audit(session).head == head


def test_the_ways_around_a_trigger_are_closed(database: Database) -> None:
    """SQLite replaces rows without deleting them, PostgreSQL empties a table at once."""
    write(database)
    around = {
        "sqlite": "REPLACE INTO audit_log SELECT seq, at, account, role, 'x', subject, details,"
        " previous_hash, hash FROM audit_log WHERE seq = 3",
        "postgresql": "TRUNCATE audit_log",
    }
    with (
        pytest.raises(DatabaseError, match="can only be added to"),
        database.transaction() as session,
    ):
        session.execute(text(around[database.engine.dialect.name]))


def test_rows_written_at_once_make_one_chain(database: Database) -> None:
    """Eight who write at the same moment take turns."""
    together = threading.Barrier(8)

    def act(number: int) -> None:
        together.wait()
        with database.transaction() as session:
            note_act(session, NOW, DESK, "ticket held", f"t_{number}", {})

    threads = [threading.Thread(target=act, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with database.reading() as session:
        assert verify_audit(session).rows == 8
        assert verify_audit(session).broken is None


def test_what_is_rolled_back_was_never_noted(database: Database) -> None:
    """The row is part of the act's transaction."""
    with database.transaction() as session:
        note_act(session, NOW, DESK, "ticket held", "t_1", {})
        session.rollback()
    with database.reading() as session:
        assert verify_audit(session).rows == 0


def test_it_is_read_newest_first_a_page_at_a_time(database: Database) -> None:
    """Fifty rows and a way on; whoever was not let in is nobody."""
    write(database, 52)
    with database.transaction() as session:
        note_refusal(session, NOW, "sign-in refused", "unknown account", "unknown account")
    with database.reading() as session:
        page = newest_acts(session)
        rest = newest_acts(session, before=page[-1].seq)
    assert [line.seq for line in page + rest] == list(range(53, 0, -1))
    assert (page[0].account, page[0].role) == ("nobody", "none")
    assert page[0].details == "why: unknown account"
    assert page[1].details == "again: none, minutes: 51, reason: attente de pièce"


@pytest.mark.parametrize("wrong", [float("nan"), object(), {1, 2}])
def test_what_is_no_json_is_refused(database: Database, wrong: Any) -> None:
    """A row that could not be hashed again the same way is not written."""
    with pytest.raises((ValueError, TypeError)), database.transaction() as session:
        note_act(session, NOW, DESK, "ticket held", "t_1", {"value": wrong})
