"""What every command begins with: the settings, the database, and how to stop with a sentence."""

from __future__ import annotations

from typing import Any, NoReturn

import typer
from pydantic import ValidationError

from service.settings import Settings, unknown_variables
from service.store.database import Database
from service.store.migrations import migrate

__all__ = ["open_database", "refuse", "settings_with", "stop"]

BAD_SETTINGS = 78  # EX_CONFIG of sysexits.h


def settings_with(**given: Any) -> Settings:
    """Settings from the environment, with what was said on the command line on top."""
    unknown = unknown_variables()
    if unknown:
        stop("nobody reads " + ", ".join(unknown) + "; see `endswitch doctor`")
    try:
        return Settings(**{name: value for name, value in given.items() if value is not None})
    except ValidationError as error:
        refuse(error)


def open_database(settings: Settings) -> Database:
    """The database with the present schema."""
    settings.state.mkdir(parents=True, exist_ok=True)
    db = Database(settings.database)
    migrate(db.engine)
    return db


def refuse(error: ValidationError) -> NoReturn:
    """End: the settings are wrong."""
    lines = [f"{'.'.join(str(s) for s in e['loc'])}: {e['msg']}" for e in error.errors()]
    stop("settings are wrong: " + "; ".join(lines))


def stop(message: str) -> NoReturn:
    """End with a sentence."""
    typer.echo(message, err=True)
    raise typer.Exit(BAD_SETTINGS)
