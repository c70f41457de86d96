"""What a page needs to know of a check beside what the ticket stores: units and where probes go."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from rules.checks.probes import probes
from rules.checks.units import units_of
from rules.faults.catalogue import checks
from rules.faults.rows import Unit
from rules.model import CheckId

__all__ = ["ALL_UNITS", "check_probes", "check_units", "with_units"]

ALL_UNITS: tuple[str, ...] = get_args(Unit)


def check_units(check: str, usual: str | None) -> tuple[str, ...]:
    """The units a reading may come in, the usual one first; none for a check in words."""
    row = checks().get(CheckId(check))
    if usual is None:
        return ()
    known = units_of(row) if row is not None else ()
    return tuple(dict.fromkeys([usual, *known]))


def with_units(check: Mapping[str, Any]) -> dict[str, Any]:
    """A check as a ticket stores it, and all units that its reading may come in."""
    return {**check, "units": list(check_units(check["test"], check["unit"]))}


def check_probes(check: str) -> Mapping[str, str] | None:
    """Where the instrument's probes go: ``dial``, ``one``, ``other``, ``first``."""
    return probes(CheckId(check))
