"""What comes before anybody goes in where a danger was told."""

from __future__ import annotations

from collections.abc import Collection

from rules.data import table
from rules.model import Kind

__all__ = ["before_entry"]


def before_entry(kinds: Collection[Kind]) -> tuple[str, ...]:
    """Sentences for whoever goes in, in their order; none where nothing told is in the air or live."""
    return tuple(row["says"] for row in table("entry") if not set(kinds).isdisjoint(row["about"]))
