"""How hard a temperature is on people: a ladder, higher never milder.

Theory of operation
-------------------
The rungs are published limits. Each reading stands on the rung of the strictest limit it breaks.
Somebody at home who takes cold or heat badly moves a reading that breaks any limit one rung up. So
a lower temperature, or one more person to care for, can only move it up. The law and its seasons
play no part here: cold hurts in June too.
"""

from __future__ import annotations

from enum import IntEnum

from rules.model import Care

__all__ = ["Severity", "severity"]


class Severity(IntEnum):
    """How hard a home is on the people in it; an order, not a label to show."""

    NONE = 0
    SLIGHT = 1
    MARKED = 2
    SERIOUS = 3
    GREAT = 4


# England HHSRS (PMC7166076 table 1b): 19, 16 and 10 C; WHO guidelines 2018 chapter 4: 18 C.
_COLD = (
    (50.0, Severity.GREAT),
    (60.8, Severity.SERIOUS),
    (64.4, Severity.MARKED),
    (66.2, Severity.SLIGHT),
)
# 78 F: ceiling of Massachusetts 105 CMR 410.180. 80, 85 and 95 F: common practice, no source.
_HEAT = ((95.0, Severity.GREAT), (85.0, Severity.SERIOUS), (80.0, Severity.MARKED))
_HEAT_SLIGHT_F = 78.0


def severity(room_f: float | None, care: frozenset[Care]) -> Severity:
    """The rung of what a home reads; NONE without a reading."""
    worst = max(_cold(room_f), _heat(room_f))
    if care and Severity.NONE < worst < Severity.GREAT:
        return Severity(worst + 1)
    return worst


def _cold(room_f: float | None) -> Severity:
    if room_f is None:
        return Severity.NONE
    return next((rung for limit, rung in _COLD if room_f < limit), Severity.NONE)


def _heat(room_f: float | None) -> Severity:
    if room_f is None:
        return Severity.NONE
    slight = Severity.SLIGHT if room_f > _HEAT_SLIGHT_F else Severity.NONE
    return next((rung for limit, rung in _HEAT if room_f > limit), slight)
