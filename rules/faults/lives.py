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
# What held for some days and was called right comes back within the month three times in a hundred, each
# time more often (common practice, no source).
_BACK_AGAIN = 0.03


@dataclass(frozen=True, slots=True)
class LearnedLives:
    """Median lives learned over median lives stated, by class of parts; 1 where nothing is known.

    ``mended`` are the faults that work of the last days was meant to put right and nobody has called
    right yet; ``held`` are those of the last month that a household has, each with how many times.
    """

    ratios: tuple[tuple[PartClass, float], ...] = ()
    mended: frozenset[Seen] = frozenset()
    held: frozenset[tuple[Seen, int]] = frozenset()

    @classmethod
    def of(cls, ratios: Mapping[PartClass, float]) -> LearnedLives:
        """From a mapping; the order of its entries does not matter."""
        return cls(tuple(sorted(ratios.items(), key=lambda entry: repr(entry[0]))))

    def ratio(self, kind: str, variant: str | None) -> float:
        """Of one class of parts."""
        return next((r for known, r in self.ratios if known == (kind, variant)), 1.0)

    def once_more(self, component: ComponentId, fault: FaultId, chance: float) -> float:
        """The chance of a fault: less where somebody has just seen to it, more where it comes back."""
        times = next((n for seen, n in self.held if seen == (component, fault)), 0)
        if times:
            return max(chance, times * _BACK_AGAIN)
        return chance * _ONCE_MORE if (component, fault) in self.mended else chance


NOTHING_LEARNED = LearnedLives()
