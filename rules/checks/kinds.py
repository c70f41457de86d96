"""What the homes of a ticket complain of, and which checks are made for that alone."""

from __future__ import annotations

from collections.abc import Sequence

from rules.diagnosis import Diagnosis
from rules.faults.rows import Check
from rules.model import ApartmentId, Kind

__all__ = ["is_asked_for", "kinds_told"]


def kinds_told(diagnosis: Diagnosis, apartments: Sequence[ApartmentId]) -> frozenset[Kind]:
    """Everything that some homes complain of."""
    said = (diagnosis.of([a]).belief.homes[a].reported for a in apartments)
    return frozenset(kind for reported in said if reported is not None for kind in reported.kinds)


def is_asked_for(check: Check, kinds: frozenset[Kind]) -> bool:
    """Whether a check is made where that is complained of: nobody looks for water that nobody saw."""
    return not check.about or not kinds.isdisjoint(check.about)
