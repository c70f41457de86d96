"""Where the instrument's probes go for a check."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from rules.data import table
from rules.model import CheckId

__all__ = ["probes"]


def probes(check: CheckId) -> Mapping[str, str] | None:
    """``dial``, ``one``, ``other`` and ``first`` of a check; None if it needs no instrument."""
    return _by_check().get(str(check))


@cache
def _by_check() -> Mapping[str, Mapping[str, str]]:
    return {
        row["check"]: {name: row[name] for name in ("dial", "one", "other", "first")}
        for row in table("probes")
    }
