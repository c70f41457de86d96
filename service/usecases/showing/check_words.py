"""Short names of checks, as they stand beside a reading: ``loop_dt`` needs more than spaces."""

from __future__ import annotations

from rules.faults.catalogue import checks
from rules.model import CheckId

__all__ = ["check_words", "words_of_checks"]


def check_words(check: str) -> str:
    """The check in a few words; spaces alone do for one without words of its own."""
    row = checks().get(CheckId(check))
    return (row.short if row else "") or check.replace("_", " ")


def words_of_checks() -> dict[str, str]:
    """The words of those checks that have some of their own, by id."""
    return {str(check): row.short for check, row in checks().items() if row.short}
