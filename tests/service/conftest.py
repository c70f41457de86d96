"""Fixtures of the whole service; what they are made of stands in ``whole_service``."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from uuid import uuid4

import pytest
from browsing import chromium  # noqa: F401 - a fixture for all
from sqlalchemy import create_engine, text
from whole_service import (
    EVENING,
    KeepingGateway,
    Running,
    cold_evening,
    migrated,
    running,
    settings_for,
)

from service.clock import ManualClock
from service.settings import Settings
from service.store.database import Database
from service.store.migrations import migrate


@pytest.fixture
def gateway() -> KeepingGateway:
    """Where texts go."""
    return KeepingGateway()


@pytest.fixture
def empty(tmp_path: Path, gateway: KeepingGateway) -> Iterator[Running]:
    """A service that knows no building."""
    with running(settings_for(tmp_path), ManualClock(EVENING), gateway) as service:
        yield service


@pytest.fixture
def service(tmp_path: Path, gateway: KeepingGateway) -> Iterator[Running]:
    """A service with the test building, its households and a cold night."""
    with cold_evening(tmp_path, gateway) as service:
        yield service


BOTH_KINDS = ["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)]


@contextmanager
def postgres_database(like: str = "template1") -> Iterator[str]:
    """A new database on the server that is named, like another one; its URL."""
    server = os.environ.get("ENDSWITCH_TEST_POSTGRES_URL")
    if not server:
        pytest.skip("ENDSWITCH_TEST_POSTGRES_URL names no server")
    base = Settings(database_url=server).database
    name = f"endswitch_test_{uuid4().hex[:12]}"
    admin = create_engine(base, isolation_level="AUTOCOMMIT")
    with admin.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name} TEMPLATE {like}"))
    try:
        yield admin.url.set(database=name).render_as_string(hide_password=False)
    finally:
        with admin.connect() as connection:
            connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))
        admin.dispose()


@pytest.fixture(params=BOTH_KINDS)
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """An empty database of each kind; PostgreSQL where a server is named."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'test.db'}"
        return
    with postgres_database() as url:
        yield url


@pytest.fixture(scope="session")
def postgres_migrated() -> Iterator[str]:
    """The name of a PostgreSQL database with the present schema, to be copied."""
    with postgres_database() as url:
        db = Database(url)
        migrate(db.engine)
        db.close()
        yield str(db.engine.url.database)


@pytest.fixture(params=BOTH_KINDS)
def migrated_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """A database of each kind with the present schema: a copy of one made by the migrations."""
    if request.param == "sqlite":
        path = tmp_path / "test.db"
        path.write_bytes(migrated())
        yield f"sqlite:///{path}"
        return
    with postgres_database(like=request.getfixturevalue("postgres_migrated")) as url:
        yield url


@pytest.fixture
def database(migrated_url: str) -> Iterator[Database]:
    """A database with the present schema."""
    db = Database(migrated_url)
    yield db
    db.close()
