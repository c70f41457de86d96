"""Runs: loops of which the order along the pipe is known.

Theory of operation
-------------------
Where one pipe runs through home after home, order decides: what stops the water at one home leaves
everybody after it cold, and when little flows the first homes take the heat and the last ones get what
is left. Where supply and return pass the homes in the same order (first on is first back), the far end
starves first. A building file says ``piping: series`` or ``piping: direct_return`` of such a loop; its
homes follow each other by their ``position``, those without one after the others in the order of the
file.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from rules.model import ApartmentId, ComponentId

if TYPE_CHECKING:
    from rules.plant.building import Plant

__all__ = ["Run", "runs_of"]


@dataclass(frozen=True, slots=True)
class Run:
    """The homes of one loop, nearest to the pump first; ``in_series``: on one pipe, else in parallel."""

    loop: ComponentId
    homes: tuple[ApartmentId, ...]
    in_series: bool

    def after(self, home: ApartmentId) -> tuple[ApartmentId, ...]:
        """A home and all that follow it.

        Raises:
            ValueError: the home is not on this run.
        """
        return self.homes[self.homes.index(home) :]


def runs_of(plant: Plant) -> tuple[Run, ...]:
    """All runs of two homes and more."""
    found = []
    for loop in plant.loops:
        homes = [a for a in plant.apartments if a.loop == loop.id]
        if loop.piping in ("series", "direct_return") and len(homes) > 1:
            # Sorting keeps the order of the file among those that say nothing.
            homes.sort(key=lambda a: (a.position is None, a.position or 0))
            names = tuple(a.id for a in homes)
            found.append(Run(ComponentId(loop.id), names, in_series=loop.piping == "series"))
    return tuple(found)
