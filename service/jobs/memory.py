"""Gives memory back to the system that the diagnoses of a busy hour have left behind.

Tables of one building are some hundred megabytes while it is looked at, and many small pieces. The C
library keeps what is freed between two pieces that are not, and apart for each thread that asked; it is
told to keep few such stores, and every few seconds to return whole pages of them.
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable
from datetime import datetime

from service.usecases.diagnosing.ask_rules import forget_old

__all__ = ["EVERY", "memory_keeper"]

EVERY = 10  # runs of a job, which are seconds
_ARENA_MAX = -8  # M_ARENA_MAX of mallopt(3)
_ARENAS = 2  # Python lets one thread at a time ask for memory anyway


def memory_keeper() -> Callable[[datetime], None]:
    """Work for the scheduler: now and then what is too old is forgotten, and free pages go back.

    Pages go back where the C library can do that, which the GNU one can.
    """
    library = ctypes.CDLL(None)
    trim = getattr(library, "malloc_trim", None)
    if trim is not None:
        library.mallopt(_ARENA_MAX, _ARENAS)
    runs = 0

    def give_back(now: datetime) -> None:
        nonlocal runs
        runs += 1
        if runs % EVERY:
            return
        forget_old(now)
        if trim is not None:
            trim(0)

    return give_back
