"""What a check reads under a fault, in words: its own reading, or healthy."""

from __future__ import annotations

from collections.abc import Iterable

from rules.faults.rows import Check, CheckReading, Fault

__all__ = ["HEALTHY", "reading_of", "reading_words", "readings_in_words", "shows"]

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
    return readings_in_words(check, [r for r in fault.checks if r.check == check.id])


def readings_in_words(check: Check, rows: Iterable[CheckReading]) -> str:
    """What some rows of a fault say of a check, in words; ``healthy`` if they leave it so."""
    said = {
        reading_words(r) for r in rows if not _as_healthy(r, check) and not _is_nothing(r, check)
    }
    return "; ".join(sorted(said)) or HEALTHY


def shows(check: Check, fault: Fault) -> bool:
    """Whether a check would show a fault itself, and not only that it leaves nothing to read."""
    own = [r for r in fault.checks if r.check == check.id]
    return not all(r.lacking for r in own) and readings_in_words(check, own) != HEALTHY


def _is_nothing(row: CheckReading, check: Check) -> bool:
    """A figure for which there is a word: that there was nothing to read."""
    return row.lacking and row.outcome is None and check.nothing is not None


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
