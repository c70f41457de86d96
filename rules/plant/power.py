"""What a 24 V transformer can carry and what it is asked to carry.

Theory of operation
-------------------
A control transformer is rated in volt-amperes; divided by its voltage that is the current it can
give, divided by what one valve draws it is the number of valves it can hold open at once. In cold
weather all valves of a transformer do call at once, so the load that counts is the sum of all of
them plus the relay coils on the same transformer. Above its rating the voltage sags and valves
fall shut in the coldest hour; above four fifths of it nothing is left for an ageing valve that
draws more.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rules.model import ComponentId
from rules.plant.vocabulary import default_valve_va, relay_va, transformer_margin

if TYPE_CHECKING:
    from rules.plant.building import Plant

__all__ = [
    "CONTROL_VOLTS",
    "TransformerLoad",
    "amps_available",
    "transformer_load",
    "valve_load_va",
    "valves_per_transformer",
]

CONTROL_VOLTS = 24.0


@dataclass(frozen=True, slots=True)
class TransformerLoad:
    """What hangs on a transformer: volt-amperes if everything calls, and the nameplate if known."""

    load_va: float
    rated_va: float | None

    @property
    def share(self) -> float | None:
        """Load as a share of the nameplate."""
        return None if self.rated_va is None else self.load_va / self.rated_va

    @property
    def is_past_rating(self) -> bool:
        """Whether it is asked for more than its nameplate gives."""
        return self.share is not None and self.share > 1

    @property
    def is_past_margin(self) -> bool:
        """Whether it is asked for more than leaves a margin."""
        return self.share is not None and self.share > transformer_margin()


def amps_available(transformer_va: float, volts: float = CONTROL_VOLTS) -> float:
    """The current a transformer can give at its rating."""
    return transformer_va / volts


def valves_per_transformer(transformer_va: float, valve_va: float, loading: float = 1.0) -> int:
    """How many valves a transformer carries at once when loaded to a share of its rating."""
    # The small addition keeps 40 x 0.8 / 8 at 4 whatever the last binary digit says.
    return math.floor(transformer_va * loading / valve_va + 1e-9)


def valve_load_va(kind: str, va: float | None) -> float:
    """What a valve draws: what its file says, else what its kind usually draws."""
    return default_valve_va(kind) if va is None else va


def transformer_load(plant: Plant, transformer: ComponentId) -> TransformerLoad:
    """The load of one transformer of a plant with everything on it calling."""
    valves = [a.valve for a in plant.apartments if a.valve and a.valve.transformer == transformer]
    relays = [relay for relay in plant.relays if relay.transformer == transformer]
    load = sum(valve_load_va(valve.kind, valve.va) for valve in valves) + relay_va() * len(relays)
    return TransformerLoad(load_va=load, rated_va=plant.transformer(transformer).va)
