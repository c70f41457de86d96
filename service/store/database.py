"""One engine and one way to work with it: ``with database.transaction() as session``.

SQLite is set up for safety: WAL, every commit reaches the disk (``synchronous=FULL``), foreign keys
on, and writers start with BEGIN IMMEDIATE so that a read-then-write never fails half way.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import ModuleType
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import DataError
from sqlalchemy.orm import Session

from service.errors import InvalidError, TryLaterError

__all__ = ["SOUND_SQLITE", "Database", "sqlite_module"]

# Older versions can corrupt a WAL database when one connection writes while another checkpoints.
SOUND_SQLITE = (3, 51, 3)
BUSY_SECONDS = 5
QUEUE_SECONDS = 30
READ_ONLY = "endswitch_read_only"


def sqlite_module() -> ModuleType:
    """The system's SQLite, or the bundled one where the system's is too old to trust."""
    if sqlite3.sqlite_version_info >= SOUND_SQLITE:
        return sqlite3
    try:
        from pysqlite3 import dbapi2  # noqa: PLC0415 - optional, Linux wheels only
    except ImportError:
        return sqlite3
    found: ModuleType = dbapi2
    return found


class Database:
    """The database of one running service."""

    def __init__(self, url: str) -> None:
        """Open the engine; nothing is read or written yet."""
        self._writing = threading.Lock()
        self.engine = _sqlite_engine(url) if url.startswith("sqlite") else _server_engine(url)

    @property
    def is_sqlite(self) -> bool:
        """Whether this is the embedded database."""
        return self.engine.dialect.name == "sqlite"

    @contextmanager
    def transaction(self) -> Iterator[Session]:
        """One writing transaction: committed at the end, rolled back on any error.

        Raises:
            TryLaterError: other writers of this process have not finished in time.
            InvalidError: a value is none that the database can hold.
        """
        with (
            _storable(),
            self._turn(),
            Session(self.engine, expire_on_commit=False) as session,
            session.begin(),
        ):
            yield session

    @contextmanager
    def _turn(self) -> Iterator[None]:
        """On SQLite threads queue here: its own waiting is polling, in which the unlucky starve."""
        if not self.is_sqlite:
            yield
            return
        if not self._writing.acquire(timeout=QUEUE_SECONDS):
            raise TryLaterError("the database is busy")
        try:
            yield
        finally:
            self._writing.release()

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """One consistent view that does not wait for writers; whatever it changes is dropped.

        Raises:
            InvalidError: what is looked for is nothing that the database can hold.
        """
        options = {READ_ONLY: True} if self.is_sqlite else {"isolation_level": "REPEATABLE READ"}
        quiet = self.engine.execution_options(**options)
        with _storable(), Session(quiet, expire_on_commit=False, autoflush=False) as session:
            try:
                yield session
            finally:
                session.rollback()

    def close(self) -> None:
        """Let go of all connections."""
        self.engine.dispose()


@contextmanager
def _storable() -> Iterator[None]:
    """PostgreSQL takes no NUL and no figure beyond its column: whoever sent one is told so."""
    try:
        yield
    except DataError as error:
        raise InvalidError("it holds characters or figures that cannot be kept") from error


def _sqlite_engine(url: str) -> Engine:
    module = sqlite_module()
    path = make_url(url).database
    if path and path != ":memory:":
        Path(path).parent.mkdir(parents=True, exist_ok=True)
    sound = module.sqlite_version_info >= SOUND_SQLITE
    engine = create_engine(
        url,
        module=module,
        connect_args={"timeout": BUSY_SECONDS, "check_same_thread": False},
        # With an unsound library the only safe number of connections is one.
        pool_size=8 if sound else 1,
        max_overflow=8 if sound else 0,
    )
    event.listen(engine, "connect", _prepare_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _server_engine(url: str) -> Engine:
    return create_engine(url, pool_pre_ping=True, connect_args={"connect_timeout": 5})


def _prepare_sqlite(connection: Any, _record: object) -> None:
    connection.isolation_level = None  # we say BEGIN ourselves
    cursor = connection.cursor()
    for pragma in (
        "journal_mode=WAL",
        "synchronous=FULL",
        "foreign_keys=ON",
        f"busy_timeout={BUSY_SECONDS * 1000}",
    ):
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()


def _begin_sqlite(connection: Connection) -> None:
    quiet = connection.get_execution_options().get(READ_ONLY, False)
    connection.exec_driver_sql("BEGIN" if quiet else "BEGIN IMMEDIATE")
