"""Read the rules' tables before the first text needs them, so that nobody waits for that."""

from __future__ import annotations

from rules.asking.questions import questions
from rules.asking.sayings import sayings
from rules.faults.catalogue import checks, faults, parts
from rules.reading import read

__all__ = ["warm_up"]


def warm_up() -> None:
    """Load and check every table; a broken one stops the start instead of a tenant's text.

    Raises:
        ValueError: a table is malformed.
    """
    for load in (faults, checks, parts, questions, sayings):
        load()
    read("warm")
