"""Schema changes in order, run in code: ``migrate(engine)``.

Forward only; a backup is the way back. On SQLite a changed table is copied and the old one dropped,
which with foreign keys on would delete the rows of its children, so they are off while migrating
and checked before the commit.
"""

from __future__ import annotations

import logging
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, text

__all__ = ["alembic_config", "at_head", "migrate"]

# Any fixed number: several copies starting at once on PostgreSQL take turns.
MIGRATION_LOCK = 0x656E6473
# Alembic announces each look at the schema; only what goes wrong is worth a line.
logging.getLogger("alembic").setLevel(logging.WARNING)


class BrokenReferenceError(RuntimeError):
    """After a migration some row points at a row that is not there; nothing was committed."""


def alembic_config() -> Config:
    """Alembic's configuration, without an ini file."""
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent))
    config.set_main_option(
        "file_template", "%%(year)d%%(month).2d%%(day).2d_%%(hour).2d%%(minute).2d_%%(slug)s"
    )
    return config


def at_head(engine: Engine) -> bool:
    """Whether the schema is the one this program was written for."""
    head = ScriptDirectory.from_config(alembic_config()).get_current_head()
    with engine.connect() as connection:
        return MigrationContext.configure(connection).get_current_revision() == head


def migrate(engine: Engine) -> None:
    """Bring the schema up to date; safe to call at every start."""
    sqlite = engine.dialect.name == "sqlite"
    with engine.connect() as connection:
        if sqlite:
            _foreign_keys(connection, on=False)
        try:
            with connection.begin():
                _upgrade(connection, sqlite=sqlite)
        finally:
            if sqlite:
                _foreign_keys(connection, on=True)


def _upgrade(connection: Connection, *, sqlite: bool) -> None:
    if not sqlite:
        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": MIGRATION_LOCK})
    config = alembic_config()
    config.attributes["connection"] = connection
    command.upgrade(config, "head")
    if sqlite and connection.exec_driver_sql("PRAGMA foreign_key_check").first() is not None:
        raise BrokenReferenceError("the migration left rows without their parents")


def _foreign_keys(connection: Connection, *, on: bool) -> None:
    """Switch foreign keys; SQLite ignores this inside a transaction, so go to the driver."""
    driver = connection.connection.driver_connection
    if driver is None:
        raise RuntimeError("the connection is gone")
    driver.execute(f"PRAGMA foreign_keys={'ON' if on else 'OFF'}")
