"""What a check reads under a fault, in words: its own reading, or healthy."""

from __future__ import annotations

from rules.faults.rows import Check, CheckReading, Fault

__all__ = ["HEALTHY", "reading_of", "reading_words"]

HEALTHY = "healthy"


def reading_words(row: CheckReading) -> str:
    """A reading as a technician would say it."""
    if row.outcome is not None:
        return row.outcome.replace("_", " ")
    assert row.reads is not None  # noqa: S101 - a row has reads or an outcome
    low, high = row.reads
    if high >= 1e6:
        return "open circuit"
    figures = f"{low:g}" if low == high else f"{low:g}-{high:g}"
    call = {True: " calling", False: " not calling", None: ""}[row.calling]
    return f"{figures} {row.unit}{call}"


def reading_of(check: Check, fault: Fault) -> str:
    """What a check would read if this were the fault, in words: its own reading, or ``healthy``."""
    own = [r for r in fault.checks if r.check == check.id]
    if not own or all(_as_healthy(r, check) for r in own):
        return HEALTHY
    return "; ".join(sorted(reading_words(r) for r in own if not _as_healthy(r, check)))


def _as_healthy(row: CheckReading, check: Check) -> bool:
    if row.outcome is not None:
        return bool(check.outcomes) and row.outcome == check.outcomes[0]
    return any(
        good.reads is not None
        and row.reads is not None
        and (good.calling is None or row.calling is None or good.calling == row.calling)
        and good.reads[0] <= row.reads[0]
        and row.reads[1] <= good.reads[1]
        for good in check.healthy
    )
