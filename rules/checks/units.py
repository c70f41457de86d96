"""The units that a check is read in, and how what stands on another meter becomes one of them."""

from __future__ import annotations

from functools import cache

from rules.data import table
from rules.faults.catalogue import faults
from rules.faults.rows import Check
from rules.model import CheckId

__all__ = ["convertible", "in_unit_of", "ranges_of", "units_of"]

_FREEZING_F = 32.0
_CELSIUS = frozenset({"c", "degc", "celsius"})
_GREEK_MU, _MICRO = "\u03bc", "\u00b5"
_DROPPED = str.maketrans({".": None, " ": None, "\u00b0": None, _GREEK_MU: _MICRO, "\u201d": '"'})


@cache
def _in_rows(check: CheckId) -> tuple[str, ...]:
    named = (r.unit for f in faults().values() for r in f.checks if r.check == check and r.unit)
    return tuple(dict.fromkeys(named))


def units_of(check: Check) -> tuple[str, ...]:
    """The units that a check is weighed in, the usual one first; none for a check in words."""
    if check.outcomes:
        return ()
    healthy = [r.unit for r in check.healthy if r.unit]
    usual = [] if check.usual is None else [check.usual]
    return tuple(dict.fromkeys([*usual, *healthy, *_in_rows(check.id)]))


def ranges_of(check: Check) -> dict[str, tuple[float, float, str]]:
    """What the instrument can show, by unit, and that in words; nothing for a check in words."""
    found = {unit: check.range_in(unit) for unit in units_of(check)}
    return {
        unit: (*ends, f"{ends[0]:g} to {ends[1]:g} {unit}")
        for unit, ends in found.items()
        if ends is not None
    }


def convertible(check: Check) -> tuple[str, ...]:
    """Other units that are taken too, as people are told."""
    own = units_of(check)
    told = (unit for name in own for unit in table("units")["told"].get(name, ()))
    return tuple(dict.fromkeys(unit for unit in told if unit not in own))


def in_unit_of(check: Check, value: float, written: str | None) -> tuple[float, str] | None:
    """A reading in a unit of its check; None if it does not come in the unit that was written.

    Without any unit the usual one is meant. Celsius becomes Fahrenheit; where a check is about the
    difference of two temperatures, so does a difference.
    """
    own = units_of(check)
    name = (written or "").translate(_DROPPED).lower()
    if not name:
        return (value, own[0]) if own else None
    # A unit that the check is weighed in goes before one that could be turned into another of them.
    ranked = sorted(own, key=lambda unit: table("units")[unit].get(name) != 1)
    for unit in ranked:
        factor = table("units")[unit].get(name)
        if factor is not None:
            zero = _FREEZING_F if name in _CELSIUS and not check.difference else 0.0
            return value * factor + zero, unit
    return None
