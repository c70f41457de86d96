"""Two admins switch each other off at the same moment; on each database."""

from __future__ import annotations

import threading
from datetime import UTC, datetime

from sqlalchemy import select

from service.auth.who import COMMAND_LINE
from service.errors import ConflictError
from service.store.database import Database
from service.store.tables import Account
from service.usecases.staff.accounts import switch_off

NOW = datetime(2026, 1, 10, tzinfo=UTC)


def test_of_two_who_switch_each_other_off_one_stays(database: Database) -> None:
    """The second waits for the first and is then told that nobody would be left."""
    with database.transaction() as session:
        for login in ("boss", "chief"):
            session.add(
                Account(login=login, name=login, role="admin", password_hash="x", created_at=NOW)
            )
    refused: list[str] = []
    begun = threading.Event()

    def second() -> None:
        begun.set()
        try:
            with database.transaction() as session:
                switch_off(session, NOW, COMMAND_LINE, "chief")
        except ConflictError as error:
            refused.append(error.message)

    other = threading.Thread(target=second)
    with database.transaction() as session:
        switch_off(session, NOW, COMMAND_LINE, "boss")
        other.start()
        begun.wait()
        other.join(0.5)  # it has every chance to get ahead, and does not
    other.join()

    assert refused == ["this is the only admin who can sign in; make another one first"]
    with database.reading() as session:
        left = session.scalars(select(Account.login).where(Account.off_at.is_(None))).all()
    assert left == ["chief"]
