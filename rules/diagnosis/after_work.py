"""What a repair leaves of the evidence from before it, and whom it must have reached.

Theory of operation
-------------------
Where a repair did not help, the cause is still there and so is what it makes meters read. Only what the
part itself has shown that was worked on went with it: the open winding of a motor that has been
exchanged. A reading at that part which the supposed fault does not explain stays, too: it spoke against
that repair from the start. A sound reading holds for the hours of its visit only: a boiler that ran on
Thursday can be locked out on Saturday.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from rules.diagnosis.measuring import chance, homes_touched, speaks_for
from rules.faults.telling import rows_told_as
from rules.model import ApartmentId, ComponentId, Evidence, Found, Reported
from rules.plant import Plant

__all__ = ["outlives", "shared_by", "still_true"]

# What was sound when it was measured may fail by the time the next home writes (common practice, no
# source). What was broken then is, until somebody works on it.
_SOUND_FOR = timedelta(hours=12)
_SOUND = 0.5  # chance of a reading in a plant without any fault, from which on it is a sound one


def outlives(found: Found, fault: str | None, component: str | None) -> bool:
    """Whether a reading from before a repair that did not help is still true after it.

    Args:
        found: the reading.
        fault: name of what was taken for the cause; None where nothing was.
        component: where somebody worked.
    """
    if fault is None or found.component != component:
        return True
    usual = chance((), found)
    expected = (speaks_for(row, found, found.component) for row in rows_told_as(fault))
    return not any(rows and chance(rows, found) > usual for rows in expected)


def still_true(plant: Plant, evidence: Sequence[Evidence]) -> tuple[Evidence, ...]:
    """The evidence without sound readings that are hours older than a report of a home they touch."""
    reports = [(e.at, e.fact.apartment) for e in evidence if isinstance(e.fact, Reported)]

    def counts(item: Evidence) -> bool:
        if not isinstance(item.fact, Found) or chance((), item.fact) < _SOUND:
            return True
        homes = homes_touched(plant, item.fact.component)
        return not any(at > item.at + _SOUND_FOR and home in homes for at, home in reports)

    return tuple(item for item in evidence if counts(item))


def shared_by(plant: Plant, component: str | None) -> frozenset[ApartmentId]:
    """The homes that live by a component, where they are several; none of a part of one home."""
    if component is None or ComponentId(component) not in plant.components:
        return frozenset()
    homes = homes_touched(plant, ComponentId(component))
    return homes if len(homes) > 1 else frozenset()
