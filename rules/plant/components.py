"""The parts a plant is made of, as a building file states them."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from rules.model import ApartmentId, ComponentId
from rules.plant.vocabulary import ComponentKind

__all__ = [
    "Apartment",
    "Circulator",
    "Component",
    "HeatSource",
    "Loop",
    "Relay",
    "Thermostat",
    "Transformer",
    "Valve",
]


@dataclass(frozen=True, slots=True)
class Component:
    """One nameable thing, with the home and the loop it belongs to, if it belongs to one."""

    id: ComponentId
    kind: ComponentKind
    installed: date | None = None
    apartment: ApartmentId | None = None
    loop: ComponentId | None = None


@dataclass(frozen=True, slots=True)
class Valve:
    """A zone valve; ``va`` is what it draws, None if nobody wrote it down."""

    id: ComponentId
    kind: str
    transformer: ComponentId | None = None
    va: float | None = None
    installed: date | None = None
    # What repairs have taught, which no building file says: of a valve whose head is newer, how old its
    # body is.
    has_newer_head: bool = field(default=False, metadata={"in_file": False})
    body_installed: date | None = field(default=None, metadata={"in_file": False})

    @property
    def body_since(self) -> date | None:
        """When the body was fitted: with the head, unless another head came since."""
        return self.body_installed if self.has_newer_head else self.installed

    @property
    def has_end_switch(self) -> bool:
        """Two-wire valves have none: a panel that reads the thermostats makes the call for them."""
        return self.kind != "motor_2wire"


@dataclass(frozen=True, slots=True)
class Thermostat:
    """A room thermostat: on batteries, powered from 24 V, or none."""

    id: ComponentId
    kind: str
    installed: date | None = None


@dataclass(frozen=True, slots=True)
class Circulator:
    """The pump of a loop, or of one home."""

    id: ComponentId
    installed: date | None = None


@dataclass(frozen=True, slots=True)
class Relay:
    """What starts a pump and passes the call on to the heat source.

    Where homes have relays of their own, a loop's is the panel that they stand in.
    """

    id: ComponentId
    transformer: ComponentId | None = None
    installed: date | None = None


@dataclass(frozen=True, slots=True)
class Apartment:
    """A home: where it lies, what warms it, and how its heat is turned on and off."""

    id: ApartmentId
    floor: int
    line: str
    emitter: str
    loop: ComponentId
    zoning: str
    valve: Valve | None = None
    thermostat: Thermostat | None = None
    circulator: Circulator | None = None  # a pump of its own, beside those of others on its loop
    relay: Relay | None = None  # that pump's relay
    access: str | None = None  # how a technician gets in
    position: int | None = None  # along its loop, the one nearest to the pump lowest


@dataclass(frozen=True, slots=True)
class Loop:
    """A circulator and what it feeds; or a header, where every home on it has a pump of its own."""

    id: ComponentId
    source: ComponentId
    circulator: Circulator | None
    relay: Relay | None = None
    piping: str | None = None  # None: not written down


@dataclass(frozen=True, slots=True)
class Transformer:
    """A 24 V transformer; ``va`` is its nameplate rating."""

    id: ComponentId
    va: float | None = None
    installed: date | None = None


@dataclass(frozen=True, slots=True)
class HeatSource:
    """A boiler or station.

    ``fed_by`` is the loop that heats it through an exchanger, ``cascade`` what it shares with other
    boilers on its header; None where there is no such thing.
    """

    id: ComponentId
    kind: str
    output_btuh: float | None
    control: str
    hot_water: str
    installed: date | None = None
    fed_by: ComponentId | None = None
    cascade: ComponentId | None = None
