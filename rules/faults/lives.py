"""How long one's own parts last against what the tables say: data that scales the age of faults."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["NOTHING_LEARNED", "LearnedLives"]

PartClass = tuple[str, str | None]  # (kind of component, kind of valve, thermostat or heat source)


@dataclass(frozen=True, slots=True)
class LearnedLives:
    """Median lives learned over median lives stated, by class of parts; 1 where nothing is known."""

    ratios: tuple[tuple[PartClass, float], ...] = ()

    @classmethod
    def of(cls, ratios: Mapping[PartClass, float]) -> LearnedLives:
        """From a mapping; the order of its entries does not matter."""
        return cls(tuple(sorted(ratios.items(), key=lambda entry: repr(entry[0]))))

    def ratio(self, kind: str, variant: str | None) -> float:
        """Of one class of parts."""
        return next((r for known, r in self.ratios if known == (kind, variant)), 1.0)


NOTHING_LEARNED = LearnedLives()
