"""The database: times, migrations, transactions; on SQLite and, where there is one, PostgreSQL."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import select, text
from sqlalchemy.exc import IntegrityError, StatementError

from service.store.database import SOUND_SQLITE, Database, sqlite_module
from service.store.migrations import alembic_config, at_head, migrate
from service.store.tables import (
    Base,
    Building,
    ClockState,
    FactRow,
    HouseholdRow,
    InboxMessage,
    Ticket,
)

NIGHT = datetime(2026, 1, 9, 22, 0, tzinfo=timezone(timedelta(hours=-5)))


def store(database: Database, *rows: Base) -> None:
    """Store rows one after the other in one transaction."""
    with database.transaction() as session:
        for row in rows:
            session.add(row)
            session.flush()
            session.expunge(row)


def test_a_naive_time_is_refused(database: Database) -> None:
    """A time without an offset never reaches the database."""
    with pytest.raises(StatementError, match="without an offset"):
        store(database, ClockState(id=1, now=NIGHT.replace(tzinfo=None)))


def test_a_time_comes_back_as_the_same_instant_in_utc(database: Database) -> None:
    """22:00 in New York is stored as the instant it is, not as the digits it shows."""
    with database.transaction() as session:
        session.add(ClockState(id=1, now=NIGHT))
    with database.reading() as session:
        found = session.scalars(select(ClockState.now)).one()

    assert datetime(2026, 1, 10, 3, 0, tzinfo=UTC) == found
    assert found.utcoffset() == timedelta(0)


def test_migrations_give_exactly_the_tables_of_the_code(database: Database) -> None:
    """After all migrations Alembic finds nothing left to change."""
    with database.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})

        assert compare_metadata(context, Base.metadata) == []


def test_migrating_twice_changes_nothing(database: Database) -> None:
    """A start on a current database leaves it as it is."""
    with database.transaction() as session:
        session.add(ClockState(id=1, now=NIGHT))

    migrate(database.engine)

    assert at_head(database.engine)
    with database.reading() as session:
        assert session.scalars(select(ClockState.id)).all() == [1]


def test_tickets_from_before_learn_the_chances_of_their_components(database_url: str) -> None:
    """Faults of one component add up, 0.2 and 0.15 to 0.35, and so the pump comes before the relay."""
    db = Database(database_url)
    config = alembic_config()
    with db.engine.connect() as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, "20261125_1130")
    named = [("relay-1", 0.3), ("pump-1", 0.2), ("pump-1", 0.15)]
    suspects = [{"component": c, "probability": p, "fault": "any"} for c, p in named]
    part = {"part": "relay", "says": "Relay", "quantity": 1, "chance_used": 0.3}
    with db.transaction() as session:
        session.add(
            Ticket(
                id="t_000000000001",
                scope="loop",
                component="loop-1",
                state="open",
                danger=False,
                opened_at=NIGHT,
                respond_by=NIGHT,
                because=[],
                picture={"suspects": suspects, "unknown": 0.35, "load": [part]},
                version=1,
            )
        )

    migrate(db.engine)

    with db.reading() as session:
        picture = session.get_one(Ticket, "t_000000000001").picture
    db.close()
    assert picture["by_component"] == [
        {"component": "pump-1", "probability": 0.35},
        {"component": "relay-1", "probability": 0.3},
    ]
    assert picture["causes"] == {"any": 0.65}
    assert picture["waiting"] == {"any": 1.0}
    assert picture["load"] == [{**part, "homes_waiting": 1.0}]
    assert (picture["suspects"], picture["unknown"]) == (suspects, 0.35)


def test_findings_from_before_keep_their_meaning(database_url: str) -> None:
    """A radiator "hot to the end" is as warm as its supply; other findings stay what they are."""
    db = Database(database_url)
    config = alembic_config()
    with db.engine.connect() as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, "20261130_1520")
    said = ("hot_to_the_end", "low_as_target", "step_drop", None)
    with db.transaction() as session:
        session.add_all(
            FactRow(source="m_1", at=NIGHT, body={"type": "found", "outcome": word})
            for word in said
        )

    migrate(db.engine)

    with db.reading() as session:
        bodies = session.scalars(select(FactRow.body).order_by(FactRow.id)).all()
    db.close()
    assert [body["outcome"] for body in bodies] == [
        "as_warm_as_supply",
        "as_warm_as_supply",
        "step_drop",
        None,
    ]


def test_an_empty_database_is_not_current(database_url: str) -> None:
    """Before the first migration the schema is not called current."""
    db = Database(database_url)

    assert not at_head(db.engine)
    db.close()


def test_foreign_keys_are_on_after_migrating(database: Database) -> None:
    """A household of a building that does not exist is refused."""
    household = HouseholdRow(
        building_id="nowhere", apartment="1A", name="X", language="en", care=[]
    )
    with pytest.raises(IntegrityError):
        store(database, household)


def test_an_error_rolls_everything_back(database: Database) -> None:
    """What a failed transaction wrote is not there afterwards."""
    good, bad = ClockState(id=1, now=NIGHT), ClockState(id=1, now=NIGHT)
    with pytest.raises(IntegrityError):
        store(database, good, bad)
    with database.reading() as session:
        assert session.scalars(select(ClockState.id)).all() == []


def test_reading_changes_nothing(database: Database) -> None:
    """What is written in a reading session is dropped."""
    with database.reading() as session:
        session.add(Building(id="b", document={}, updated_at=NIGHT))
        session.flush()
    with database.reading() as session:
        assert session.scalars(select(Building.id)).all() == []


def test_the_same_id_by_the_same_way_is_stored_once(database: Database) -> None:
    """The inbox itself refuses a second text with the id of the first."""

    def row(via: str) -> InboxMessage:
        return InboxMessage(
            id=f"m_{via}{id(object())}",
            sender_id="same",
            via=via,
            from_number="+12125550101",
            received_at=NIGHT,
            raw=b"x",
        )

    with database.transaction() as session:
        session.add_all([row("http"), row("smtp")])
    with pytest.raises(IntegrityError):
        store(database, row("http"))


def test_writers_take_turns(database: Database) -> None:
    """Eight threads that read, then write, lose no update."""
    with database.transaction() as session:
        session.add(ClockState(id=1, now=NIGHT))
    start = threading.Barrier(8)

    def add_an_hour() -> None:
        start.wait()
        with database.transaction() as session:
            row = session.scalars(
                select(ClockState).where(ClockState.id == 1).with_for_update()
            ).one()
            row.now += timedelta(hours=1)

    threads = [threading.Thread(target=add_an_hour) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    with database.reading() as session:
        assert session.scalars(select(ClockState.now)).one() == NIGHT + timedelta(hours=8)


def test_sqlite_is_set_up_for_safety(tmp_path: Path) -> None:
    """WAL, synchronous FULL (2) and foreign keys hold on every connection of the pool."""
    db = Database(f"sqlite:///{tmp_path / 'safe.db'}")
    for _ in range(2):
        with db.transaction() as session:
            found = [
                session.execute(text(f"PRAGMA {pragma}")).scalar()
                for pragma in ("journal_mode", "synchronous", "foreign_keys")
            ]
            assert found == ["wal", 2, 1]
    db.close()


def test_the_sqlite_in_use_has_no_known_wal_damage() -> None:
    """The library is at or past 3.51.3, which fixed the WAL-reset fault (sqlite.org/changes.html)."""
    assert sqlite_module().sqlite_version_info >= SOUND_SQLITE
