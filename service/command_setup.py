"""What every command begins with: the settings, the database, and how to stop with a sentence."""

from __future__ import annotations

import socket
from typing import Any, NoReturn

import typer
from alembic.util import CommandError
from pydantic import ValidationError
from sqlalchemy.exc import DBAPIError

from service.settings import Settings, unknown_variables
from service.store.database import Database
from service.store.migrations import migrate

__all__ = ["need_ports", "open_database", "refuse", "settings_with", "stop"]

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
    """The database with the present schema; ends with a sentence where there can be none."""
    try:
        settings.state.mkdir(parents=True, exist_ok=True)
        db = Database(settings.database)
        migrate(db.engine)
    except OSError as error:
        stop(f"the state folder {settings.state} cannot be used: {error.strerror}")
    except CommandError as error:
        stop(f"the schema of the database is not known, it may be newer than this program: {error}")
    except DBAPIError as error:
        # The driver's own words only: SQLAlchemy adds the statement.
        said = str(error.orig).strip().splitlines() or [type(error).__name__]
        stop(f"the database cannot be opened: {said[0]}")
    return db


def need_ports(host: str, *ports: int) -> None:
    """End with a sentence where somebody else listens already, before any work begins."""
    for port in ports:
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        with socket.socket(family, socket.SOCK_STREAM) as trial:
            trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                trial.bind((host, port))
            except OSError as error:
                stop(f"port {port} on {host} cannot be used: {error.strerror}")


def refuse(error: ValidationError) -> NoReturn:
    """End: the settings are wrong."""
    lines = [f"{'.'.join(str(s) for s in e['loc'])}: {e['msg']}" for e in error.errors()]
    stop("settings are wrong: " + "; ".join(lines))


def stop(message: str) -> NoReturn:
    """End with a sentence."""
    typer.echo(message, err=True)
    raise typer.Exit(BAD_SETTINGS)
