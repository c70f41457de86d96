"""Whose time it is. This module is the only one that reads the system clock."""

from __future__ import annotations

import threading
from datetime import UTC, datetime
from typing import Protocol

__all__ = ["Clock", "ClockBackwardsError", "ManualClock", "SystemClock"]


class Clock(Protocol):
    """Tells the time as an aware UTC instant."""

    def now(self) -> datetime:
        """The present."""
        ...


class ClockBackwardsError(ValueError):
    """Somebody tried to move a manual clock into the past."""


class SystemClock:
    """The time of the machine."""

    def now(self) -> datetime:
        """The present."""
        return datetime.now(tz=UTC)


class ManualClock:
    """A clock that stands still until it is moved, forward only."""

    def __init__(self, start: datetime) -> None:
        """Stand at ``start``."""
        self._now = _utc(start)
        self._lock = threading.Lock()

    def now(self) -> datetime:
        """The instant the clock stands at."""
        return self._now

    def move(self, to: datetime) -> None:
        """Stand at ``to`` from now on.

        Raises:
            ClockBackwardsError: ``to`` lies before the present.
        """
        target = _utc(to)
        with self._lock:
            if target < self._now:
                raise ClockBackwardsError(f"the clock stands at {self._now.isoformat()}")
            self._now = target


def _utc(at: datetime) -> datetime:
    if at.tzinfo is None:
        raise ValueError("a time needs an offset")
    return at.astimezone(UTC)
