"""What a busy hour has left behind goes back to the system."""

from __future__ import annotations

import platform
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from service.jobs.memory import EVERY, memory_keeper

NOW = datetime(2027, 1, 14, 23, 0, tzinfo=UTC)
PIECE = 64 * 1024
PIECES = 3000


def resident_bytes() -> int:
    """What of this process is in memory, as the kernel counts it (proc(5), statm)."""
    return int(Path("/proc/self/statm").read_text().split()[1]) * 4096


@pytest.mark.skipif(
    platform.libc_ver()[0] != "glibc", reason="another C library gives nothing back"
)
def test_pages_between_pieces_in_use_go_back_within_seconds():
    """Most of what is free between pieces still in use returns within seconds, not at each run."""
    pieces = [np.ones(PIECE // 8) for _ in range(PIECES)]
    kept = pieces[::50]
    del pieces
    held = resident_bytes()
    keep = memory_keeper()

    for _ in range(EVERY - 1):
        keep(NOW)
    before = resident_bytes()
    keep(NOW)

    assert before > held - PIECES * PIECE // 10
    assert resident_bytes() < before - PIECES * PIECE // 2
    assert len(kept) == PIECES // 50
