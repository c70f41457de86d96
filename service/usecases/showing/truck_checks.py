"""What a page needs to know of a check beside what the ticket stores: units and where probes go."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from rules.checks.probes import probes
from rules.checks.units import ranges_of, units_of
from rules.faults.catalogue import checks
from rules.faults.rows import Unit
from rules.model import CheckId

__all__ = [
    "ALL_UNITS",
    "check_nothing",
    "check_probes",
    "check_ranges",
    "check_units",
    "with_units",
]

ALL_UNITS: tuple[str, ...] = get_args(Unit)


def check_units(check: str, usual: str | None) -> tuple[str, ...]:
    """The units a reading may come in, the usual one first; none for a check in words."""
    row = checks().get(CheckId(check))
    if usual is None:
        return ()
    known = units_of(row) if row is not None else ()
    return tuple(dict.fromkeys([usual, *known]))


def with_units(check: Mapping[str, Any]) -> dict[str, Any]:
    """A check as a ticket stores it, with all units of its reading and the word for no reading."""
    units = list(check_units(check["test"], check["unit"]))
    return {**check, "units": units, "nothing": check_nothing(check["test"])}


def check_ranges(check: str) -> Mapping[str, tuple[float, float, str]]:
    """What the instrument can show, by unit, and that in words."""
    row = checks().get(CheckId(check))
    return {} if row is None else ranges_of(row)


def check_nothing(check: str) -> str | None:
    """The word for "there was nothing to measure" of a check in figures, if it has one."""
    row = checks().get(CheckId(check))
    return None if row is None else row.nothing


def check_probes(check: str) -> Mapping[str, str] | None:
    """Where the instrument's probes go: ``dial``, ``one``, ``other``, ``first``."""
    return probes(CheckId(check))
