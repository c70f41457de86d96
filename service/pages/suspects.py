"""Suspects put together by part: a technician goes to a part, not to a fault."""

from __future__ import annotations

from dataclasses import dataclass

from service.pages.words import capital, component_words, per_cent
from service.usecases.rows.picture import FIRST_PLACES
from service.usecases.rows.views import SuspectLine

__all__ = ["SuspectedPart", "by_part", "fault_words", "part_words"]

# Two shares that are the same when written in whole per cent.
_SAME = 0.005


@dataclass(frozen=True, slots=True)
class SuspectedPart:
    """A component, what it may have, and the chance that it has any fault, also one not listed."""

    component: str
    probability: float
    faults: tuple[SuspectLine, ...]  # likeliest first

    @property
    def leading(self) -> str:
        """Its likeliest fault."""
        return fault_words(self.faults[0].says, self.faults[0].probability, self.probability)

    @property
    def explains(self) -> tuple[str, ...]:
        """The homes that any of its faults would explain."""
        return tuple(dict.fromkeys(home for fault in self.faults for home in fault.explains))


def by_part(suspects: tuple[SuspectLine, ...]) -> tuple[SuspectedPart, ...]:
    """The parts: those with which the suspects begin, in the order in which to look; then by chance."""
    found: dict[str, list[SuspectLine]] = {}
    for suspect in suspects:
        found.setdefault(suspect.component, []).append(suspect)
    parts = [
        SuspectedPart(
            component,
            faults[0].of_part,
            tuple(sorted(faults, key=lambda fault: -fault.probability)),
        )
        for component, faults in found.items()
    ]
    rest = sorted(parts[FIRST_PLACES:], key=lambda part: -part.probability)
    return (*parts[:FIRST_PLACES], *rest)


def part_words(component: str, homes: tuple[str, ...]) -> str:
    """A suspected part by name; what stands at a home's own id is its pipes, radiators and rooms.

    An id of the building file is left as it is written there.
    """
    name = f"home {component}" if component in homes else component_words(component)
    return name if name == component else capital(name)


def fault_words(says: str, share: float | None, of_part: float | None) -> str:
    """A fault of a part, with its own share where there are others: ``Pump is seized, 24 %``."""
    alone = share is None or of_part is None or of_part - share < _SAME
    return capital(says) if alone or share is None else f"{capital(says)}, {per_cent(share)}"
