"""What every use case works with, put together once by ``create_app``."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Protocol

from sqlalchemy import text
from sqlalchemy.orm import Session

from service.clock import Clock
from service.errors import TryLaterError
from service.settings import Settings
from service.store.database import Database
from service.usecases.rows.danger_journal import DangerJournal

__all__ = ["Gateway", "Outgoing", "Services", "SmsRules"]

# Any fixed number: copies of the service on one PostgreSQL work the inbox one at a time.
INBOX_LOCK = 0x656E6477
# A gateway that waits longer for an answer gives up; what is stored is done later anyway.
PATIENCE_SECONDS = 8.0


@dataclass(frozen=True, slots=True)
class Outgoing:
    """One text on its way out; ``key`` stays the same when it is tried again."""

    key: str
    to: str
    text: str
    segments: int
    send_at: datetime
    sent_at: datetime
    asks: dict[str, Any] | None = None


class Gateway(Protocol):
    """Gets a text to a phone. Raises ``OSError`` when trying again later may help."""

    def send(self, outgoing: Outgoing) -> None:
        """Hand the text over."""
        ...


@dataclass(frozen=True, slots=True)
class SmsRules:
    """The arithmetic of text messages, handed in because the SMS door lies above the use cases."""

    fold: Callable[[str], str]  # letters that would halve a segment become plain ones
    segments: Callable[[str], int]
    e164: Callable[[str], str | None]  # a number as +<country><number>
    mail_text: Callable[[bytes], str | None]  # what a stored mail says; None = nothing readable


@dataclass(frozen=True, slots=True)
class Services:
    """The database, the time, the settings and the way out."""

    db: Database
    clock: Clock
    settings: Settings
    gateway: Gateway
    sms: SmsRules
    journal: DangerJournal = field(default_factory=DangerJournal)
    _inbox_lock: threading.RLock = field(default_factory=threading.RLock)
    _working_lock: threading.RLock = field(default_factory=threading.RLock)
    _sending_lock: threading.RLock = field(default_factory=threading.RLock)

    def now(self) -> datetime:
        """The present."""
        return self.clock.now()

    @contextmanager
    def working(self, patience_seconds: float = PATIENCE_SECONDS) -> Iterator[None]:
        """Held by whoever works off due texts and timers, so that moving the clock is not disturbed."""
        if not self._working_lock.acquire(timeout=patience_seconds):
            raise TryLaterError("other texts are still being worked on")
        try:
            yield
        finally:
            self._working_lock.release()

    @contextmanager
    def sending(self, patience_seconds: float = PATIENCE_SECONDS) -> Iterator[None]:
        """Held from claiming texts to marking them sent; whoever needs both locks takes this first.

        A lease alone does not do: a manual clock can run past it while a text is on its way.
        """
        if not self._sending_lock.acquire(timeout=patience_seconds):
            raise TryLaterError("other texts are still being sent")
        try:
            yield
        finally:
            self._sending_lock.release()

    @contextmanager
    def deciding(self) -> Iterator[Session]:
        """A writing transaction in which texts and timers are worked off one at a time."""
        with self._inbox_lock, self.db.transaction() as session:
            if not self.db.is_sqlite:
                session.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": INBOX_LOCK})
            yield session
