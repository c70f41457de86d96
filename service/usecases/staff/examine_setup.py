"""What is configured, what is missing, what is unsafe."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy.exc import SQLAlchemyError

from service.settings import Settings
from service.store.database import SOUND_SQLITE, Database, sqlite_module
from service.store.migrations import at_head

__all__ = ["Finding", "examine"]

LOCAL = frozenset({"127.0.0.1", "::1", "localhost"})
FREE_BYTES = 200 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Finding:
    """One line of the report."""

    what: str
    says: str
    bad: bool = False

    def __str__(self) -> str:
        """Such as "ok     sqlite: 3.53.4"."""
        return f"{'UNSAFE' if self.bad else 'ok'}\t{self.what}: {self.says}"


def examine(settings: Settings, unknown: Iterable[str]) -> list[Finding]:
    """Look at everything that can be looked at without changing it."""
    found = [Finding("setting", f"nobody reads {name}", bad=True) for name in unknown]
    found += [
        Finding(name, str(value))
        for name, value in settings.model_dump().items()
        if name != "database_url"  # may hold a password
    ]
    return [*found, *_database(settings), *_safety(settings)]


def _database(settings: Settings) -> Iterator[Finding]:
    if settings.database.startswith("sqlite"):
        module = sqlite_module()
        sound = module.sqlite_version_info >= SOUND_SQLITE
        says = module.sqlite_version
        if not sound:
            says += "; older than 3.51.3, a WAL database can be damaged: install pysqlite3"
        yield Finding("sqlite", says, bad=not sound)
        if not (settings.state / "endswitch.db").exists() and settings.database_url is None:
            yield _to_be_made(settings.state)
            return
    try:
        db = Database(settings.database)
        current = at_head(db.engine)
        db.close()
    except (SQLAlchemyError, OSError) as error:
        yield Finding("database", f"cannot be reached: {type(error).__name__}", bad=True)
        return
    yield Finding("schema", "current" if current else "older; the next start brings it up to date")


def _to_be_made(state: Path) -> Finding:
    """Whether the first start can make a database in this folder, or in a new one inside another."""
    there = next(folder for folder in (state, *state.absolute().parents) if folder.exists())
    if not there.is_dir() or not os.access(there, os.W_OK | os.X_OK):
        return Finding("database", f"none yet, and {there} takes no files", bad=True)
    return Finding("database", "none yet; `endswitch serve` or `load` makes it")


def _safety(settings: Settings) -> Iterator[Finding]:
    if settings.host not in LOCAL:
        says = "listens beyond this machine; put a TLS proxy before HTTP, a firewall before SMTP"
        yield Finding("host", says, bad=True)
    if settings.clock == "manual":
        yield Finding("clock", "manual: nothing happens by itself; for trials only", bad=True)
    if settings.gateway == "smtp" and not settings.smtp_relay:
        yield Finding("smtp_relay", "missing", bad=True)
    if settings.gateway == "http" and (not settings.webhook_url or not settings.webhook_secret):
        yield Finding("webhook", "url or secret missing", bad=True)
    if settings.gateway == "file":
        yield Finding("gateway", "file: texts are written to outbox.jsonl and reach nobody")
    if settings.public_url is None:
        yield Finding("public_url", f"not set; links will say {settings.base_url}")
    if settings.state.exists() and shutil.disk_usage(settings.state).free < FREE_BYTES:
        yield Finding("disk", "less than 200 MB free", bad=True)
