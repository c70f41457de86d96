"""Gives memory back to the system that the diagnoses of a busy hour have left behind.

Tables of one building are some hundred megabytes while it is looked at, and many small pieces. The C
library keeps what is freed between two pieces that are not; asked to, it returns whole pages of it.
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable
from datetime import datetime

__all__ = ["EVERY", "memory_keeper"]

EVERY = 60  # runs of a job, which are seconds


def memory_keeper() -> Callable[[datetime], None]:
    """Work for the scheduler: every minute, not more, free pages go back; nothing where none can."""
    trim = getattr(ctypes.CDLL(None), "malloc_trim", None)  # of the GNU C library only
    runs = 0

    def give_back(_now: datetime) -> None:
        nonlocal runs
        runs += 1
        if trim is not None and runs % EVERY == 0:
            trim(0)

    return give_back
