"""Fixtures of the whole service; what they are made of stands in ``whole_service``."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from uuid import uuid4

import pytest
from browsing import chromium  # noqa: F401 - a fixture for all
from sqlalchemy import create_engine, text
from whole_service import EVENING, KeepingGateway, Running, fill, running, settings_for

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
def service(empty: Running) -> Running:
    """A service with the test building, its households and a cold night."""
    return fill(empty)


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """An empty database of each kind; PostgreSQL where a server is named."""
    if request.param == "sqlite":
        yield f"sqlite:///{tmp_path / 'test.db'}"
        return
    server = os.environ.get("ENDSWITCH_TEST_POSTGRES_URL")
    if not server:
        pytest.skip("ENDSWITCH_TEST_POSTGRES_URL names no server")
    base = Settings(database_url=server).database
    name = f"endswitch_test_{uuid4().hex[:12]}"
    admin = create_engine(base, isolation_level="AUTOCOMMIT")
    with admin.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    try:
        yield admin.url.set(database=name).render_as_string(hide_password=False)
    finally:
        with admin.connect() as connection:
            connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))
        admin.dispose()


@pytest.fixture
def database(database_url: str) -> Iterator[Database]:
    """A database with the present schema, made by the migrations."""
    db = Database(database_url)
    migrate(db.engine)
    yield db
    db.close()
