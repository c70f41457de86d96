"""What comes before anybody goes in where a danger was told."""

from __future__ import annotations

from collections.abc import Iterable

from rules.data import table
from rules.model import Kind

__all__ = ["before_entry"]


def before_entry(kinds: Iterable[Kind]) -> tuple[str, ...]:
    """Sentences for whoever goes in, in their order; none where nothing told is in the air or live."""
    told = set(kinds)
    return tuple(row["says"] for row in table("entry") if not told.isdisjoint(row["about"]))
