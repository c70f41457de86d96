"""What a 24 V transformer can carry and what it is asked to carry.

Theory of operation
-------------------
A control transformer is rated in volt-amperes: divided by what one valve draws, that is how many it
can hold open at once. In cold weather all valves of a transformer do call at once, so the load that
counts is the sum of all of them plus the relay coils on the same transformer. Above its rating the
voltage sags and valves fall shut in the coldest hour; above four fifths of it nothing is left for an
ageing valve that draws more.

One that is in trouble holds what it surely can: so many homes as four fifths of its rating carry beside
the relays of loops, at least one. Homes of one transformer are taken to draw alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rules.model import ComponentId
from rules.plant.components import Apartment
from rules.plant.vocabulary import default_valve_va, relay_va, transformer_margin

if TYPE_CHECKING:
    from rules.plant.building import Plant

__all__ = [
    "Circuit",
    "TransformerLoad",
    "circuit_of",
    "transformer_load",
    "transformer_of",
    "valve_load_va",
]


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


@dataclass(frozen=True, slots=True)
class Circuit:
    """The homes that draw on one transformer, and how many of them it holds once it is in trouble.

    None where its file does not tell: without a nameplate, or if all homes together leave a margin.
    """

    homes: int
    holds: int | None


def valve_load_va(kind: str, va: float | None) -> float:
    """What a valve draws: what its file says, else what its kind usually draws."""
    return default_valve_va(kind) if va is None else va


def transformer_load(plant: Plant, transformer: ComponentId) -> TransformerLoad:
    """The load of one transformer of a plant with everything on it calling."""
    valves = [a.valve for a in plant.apartments if a.valve and a.valve.transformer == transformer]
    relays = [relay for relay in plant.relays if relay.transformer == transformer]
    load = sum(valve_load_va(valve.kind, valve.va) for valve in valves) + relay_va() * len(relays)
    return TransformerLoad(load_va=load, rated_va=plant.transformer(transformer).va)


def transformer_of(plant: Plant, home: Apartment) -> ComponentId | None:
    """What feeds a home's valve or, where none is named, the relay that starts its pump."""
    relay = plant.relay_of(home)
    by_valve = home.valve.transformer if home.valve else None
    return relay.transformer if by_valve is None and relay is not None else by_valve


def circuit_of(plant: Plant, transformer: ComponentId) -> Circuit:
    """The homes of one transformer of a plant."""
    load = transformer_load(plant, transformer)
    homes = [a for a in plant.apartments if transformer_of(plant, a) == transformer]
    of_homes_va = sum(_drawn_va(home) for home in homes)
    if load.rated_va is None or not load.is_past_margin or of_homes_va == 0:
        return Circuit(len(homes), None)
    left_va = transformer_margin() * load.rated_va - (load.load_va - of_homes_va)
    # The small addition keeps 32 / 8 at 4 whatever the last binary digit says.
    held = math.floor(left_va * len(homes) / of_homes_va + 1e-9)
    return Circuit(len(homes), max(held, 1))


def _drawn_va(home: Apartment) -> float:
    """What a home draws while it calls; the relay of a loop is held by whoever calls."""
    if home.valve is not None and home.valve.transformer is not None:
        return valve_load_va(home.valve.kind, home.valve.va)
    return relay_va() if home.zoning == "zone_circulator" else 0.0
