"""What a repair leaves of the evidence from before it, and whom it must have reached.

Theory of operation
-------------------
Where a repair did not help, the cause is still there and so is what it makes meters read. Only what the
part itself has shown that was worked on went with it: the open winding of a motor that has been
exchanged. A reading at that part which the supposed fault does not explain stays, too: it spoke against
that repair from the start.
"""

from __future__ import annotations

from rules.diagnosis.measuring import chance, homes_touched, speaks_for
from rules.faults.telling import rows_told_as
from rules.model import ApartmentId, ComponentId, Found
from rules.plant import Plant

__all__ = ["outlives", "shared_by"]


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


def shared_by(plant: Plant, component: str | None) -> frozenset[ApartmentId]:
    """The homes that live by a component, where they are several; none of a part of one home."""
    if component is None or ComponentId(component) not in plant.components:
        return frozenset()
    homes = homes_touched(plant, ComponentId(component))
    return homes if len(homes) > 1 else frozenset()
