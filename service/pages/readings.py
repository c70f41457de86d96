"""What people type into a reading field, as a number: ``24.5``, ``24,5``, ``4.7k``, ``OL``."""

from __future__ import annotations

import math
import re

__all__ = ["OPEN_CIRCUIT_OHM", "read_number"]

# A meter shows OL when the circuit is open. Any value far beyond every winding says the same.
OPEN_CIRCUIT_OHM = 1e7
_NUMBER = re.compile(r"([+-]?\d+(?:[.,]\d+)?|[+-]?[.,]\d+)\s*([kKM])?\s*[^\d.,+-]*")
_MOST = 1e9


def read_number(text: str, unit: str) -> float | None:
    """The number a technician meant, or None when there is not exactly one."""
    given = text.strip()
    if unit == "ohm" and re.fullmatch(r"o\.?l\.?|open|infinite|∞", given, re.IGNORECASE):
        return OPEN_CIRCUIT_OHM
    match = _NUMBER.fullmatch(given)
    if match is None:
        return None
    value = float(match[1].replace(",", "."))
    if unit == "ohm":
        value *= {"k": 1e3, "K": 1e3, "M": 1e6}.get(match[2] or "", 1.0)
    elif match[2]:
        return None
    return value if math.isfinite(value) and abs(value) <= _MOST else None
