"""Clocks and settings."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from pydantic import ValidationError

from service.clock import ClockBackwardsError, ManualClock, SystemClock
from service.settings import Settings, unknown_variables

NOON = datetime(2026, 1, 9, 12, 0, tzinfo=UTC)


def test_the_system_clock_is_aware() -> None:
    """The present has an offset, and it is zero."""
    assert SystemClock().now().utcoffset() == timedelta(0)


def test_a_manual_clock_stands_until_moved() -> None:
    """It shows the instant it was put at, then the one it was moved to."""
    clock = ManualClock(NOON)
    assert clock.now() == NOON

    clock.move(NOON + timedelta(hours=1))

    assert NOON + timedelta(hours=1) == clock.now()


def test_a_manual_clock_never_goes_back() -> None:
    """A move into the past is refused and changes nothing."""
    clock = ManualClock(NOON)

    with pytest.raises(ClockBackwardsError):
        clock.move(NOON - timedelta(seconds=1))

    assert clock.now() == NOON


def test_a_manual_clock_refuses_a_time_without_an_offset() -> None:
    """Digits without an offset are no instant."""
    with pytest.raises(ValueError, match="offset"):
        ManualClock(NOON.replace(tzinfo=None))


def test_a_misspelt_variable_is_found() -> None:
    """A variable with our prefix that nobody reads is named; others are not."""
    environ = {
        "ENDSWITCH_PROT": "1",
        "ENDSWITCH_PORT": "8025",
        "ENDSWITCH_TEST_POSTGRES_URL": "x",
        "PORT": "1",
    }

    assert unknown_variables(environ) == ("ENDSWITCH_PROT",)


def test_settings_come_from_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    """The prefix is ENDSWITCH_."""
    monkeypatch.setenv("ENDSWITCH_PORT", "9000")

    assert Settings().port == 9000


def test_settings_cannot_change() -> None:
    """A setting is decided once."""
    settings = Settings()

    with pytest.raises(ValidationError):
        settings.port = 1  # type: ignore[misc]


@pytest.mark.parametrize(
    ("given", "used"),
    [
        ("postgresql://u@h/d", "postgresql+psycopg://u@h/d"),
        ("postgres://u@h/d", "postgresql+psycopg://u@h/d"),
        ("sqlite:////tmp/x.db", "sqlite:////tmp/x.db"),
    ],
)
def test_the_database_url_names_its_driver(given: str, used: str) -> None:
    """PostgreSQL is reached through psycopg however its URL is written."""
    assert Settings(database_url=given).database == used


def test_the_default_database_lies_in_the_state_folder(tmp_path: Path) -> None:
    """Without a URL there is one SQLite file."""
    assert Settings(state=tmp_path).database == f"sqlite:///{tmp_path}/endswitch.db"


def test_a_start_without_an_offset_is_refused() -> None:
    """The first time of a manual clock is an instant."""
    with pytest.raises(ValidationError, match="offset"):
        Settings(clock_start=datetime(2026, 1, 9))  # noqa: DTZ001 - that is what is refused
