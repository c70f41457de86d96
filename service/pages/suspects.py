"""Suspects put together by part: a technician goes to a part, not to a fault."""

from __future__ import annotations

from dataclasses import dataclass

from service.usecases.views import SuspectLine

__all__ = ["SuspectedPart", "by_part"]


@dataclass(frozen=True, slots=True)
class SuspectedPart:
    """A component, what it may have, and the chance that it is any of this."""

    component: str
    probability: float
    faults: tuple[SuspectLine, ...]  # likeliest first

    @property
    def explains(self) -> tuple[str, ...]:
        """The homes that any of its faults would explain."""
        return tuple(dict.fromkeys(home for fault in self.faults for home in fault.explains))


def by_part(suspects: tuple[SuspectLine, ...]) -> tuple[SuspectedPart, ...]:
    """The parts, likeliest first; equally likely ones in the order in which they come."""
    found: dict[str, list[SuspectLine]] = {}
    for suspect in suspects:
        found.setdefault(suspect.component, []).append(suspect)
    parts = (
        SuspectedPart(
            component,
            sum(fault.probability for fault in faults),
            tuple(sorted(faults, key=lambda fault: -fault.probability)),
        )
        for component, faults in found.items()
    )
    return tuple(sorted(parts, key=lambda part: -part.probability))
