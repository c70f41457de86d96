"""Cascades: boilers that stand side by side on one header, lead and lag.

Theory of operation
-------------------
The boilers of a cascade heat the same water, so the plant's output is the sum of what the healthy ones
give: with one of two equal boilers lost, half of the heat is left, which is felt only in weather that
needs more. What they have in common (the header and its pump, fuel, controller, outdoor sensor, call)
is a component of its own, called by the cascade's id. A loop names any one of the boilers.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from rules.model import ComponentId
from rules.plant.components import HeatSource

if TYPE_CHECKING:
    from rules.plant.building import Plant

__all__ = ["Cascade", "cascades_of"]


@dataclass(frozen=True, slots=True)
class Cascade:
    """The boilers of one header, in the order of the file."""

    id: ComponentId
    sources: tuple[HeatSource, ...]

    def share(self, source: ComponentId) -> float:
        """Part of the plant's output that one of its boilers gives; even where an output is unknown.

        Raises:
            StopIteration: the boiler is none of them.
        """
        outputs = [s.output_btuh for s in self.sources]
        own = next(s.output_btuh for s in self.sources if s.id == source)
        known = [output for output in outputs if output is not None]
        if own is None or len(known) < len(outputs):
            return 1 / len(outputs)
        return own / sum(known)

    @property
    def output_btuh(self) -> float | None:
        """What all of them give together; None where one is unknown."""
        known = [s.output_btuh for s in self.sources if s.output_btuh is not None]
        return sum(known) if len(known) == len(self.sources) else None


def cascades_of(plant: Plant) -> tuple[Cascade, ...]:
    """All cascades of a plant; a boiler that is in none stands alone and is not among them."""
    members: dict[str, list[HeatSource]] = {}
    for source in plant.heat_sources:
        if source.cascade is not None:
            members.setdefault(source.cascade, []).append(source)
    return tuple(Cascade(ComponentId(name), tuple(sources)) for name, sources in members.items())
