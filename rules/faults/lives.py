"""What one's own work has taught of faults: how long parts last, and what was seen to lately."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rules.model import ComponentId, FaultId

__all__ = ["NOTHING_LEARNED", "LearnedLives"]

PartClass = tuple[str, str | None]  # (kind of component, kind of valve, thermostat or heat source)
Seen = tuple[ComponentId, FaultId]

# What was mended days ago is the cause once more in about one call in four of those in which it would
# have been: a bad part, a job half done (common practice, no source).
_ONCE_MORE = 0.25


@dataclass(frozen=True, slots=True)
class LearnedLives:
    """Median lives learned over median lives stated, by class of parts; 1 where nothing is known.

    ``mended`` are the faults that work of the last days has put right, or was meant to.
    """

    ratios: tuple[tuple[PartClass, float], ...] = ()
    mended: frozenset[Seen] = frozenset()

    @classmethod
    def of(cls, ratios: Mapping[PartClass, float]) -> LearnedLives:
        """From a mapping; the order of its entries does not matter."""
        return cls(tuple(sorted(ratios.items(), key=lambda entry: repr(entry[0]))))

    def ratio(self, kind: str, variant: str | None) -> float:
        """Of one class of parts."""
        return next((r for known, r in self.ratios if known == (kind, variant)), 1.0)

    def once_more(self, component: ComponentId, fault: FaultId) -> float:
        """What the chance of a fault is multiplied by: less where somebody has just seen to it."""
        return _ONCE_MORE if (component, fault) in self.mended else 1.0


NOTHING_LEARNED = LearnedLives()
