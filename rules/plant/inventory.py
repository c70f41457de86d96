"""The list of everything in a plant that has an id."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from rules.model import ComponentId
from rules.plant.components import Apartment, Component, Loop
from rules.plant.vocabulary import ComponentKind

if TYPE_CHECKING:
    from rules.plant.building import Plant

__all__ = ["inventory"]


def inventory(plant: Plant) -> Iterable[Component]:
    """Every component, from the building down to what is the homes' own."""
    yield Component(id=ComponentId(plant.id), kind=ComponentKind.BUILDING)
    for source in plant.heat_sources:
        yield Component(id=source.id, kind=ComponentKind.SOURCE, installed=source.installed)
    for cascade in plant.cascades:
        yield Component(id=cascade.id, kind=ComponentKind.CASCADE)
    for each in plant.transformers:
        yield Component(id=each.id, kind=ComponentKind.TRANSFORMER, installed=each.installed)
    for loop in plant.loops:
        yield from _of_loop(loop)
    for riser in plant.risers:
        yield Component(id=riser.id, kind=ComponentKind.RISER, loop=riser.loop)
    for apartment in plant.apartments:
        yield from _of_home(apartment)


def _of_loop(loop: Loop) -> Iterable[Component]:
    yield Component(id=loop.id, kind=ComponentKind.LOOP, loop=loop.id)
    parts = ((loop.circulator, ComponentKind.CIRCULATOR), (loop.relay, ComponentKind.RELAY))
    for part, kind in parts:
        if part is not None:
            yield Component(id=part.id, kind=kind, installed=part.installed, loop=loop.id)


def _of_home(apartment: Apartment) -> Iterable[Component]:
    home, loop = apartment.id, apartment.loop
    yield Component(id=ComponentId(home), kind=ComponentKind.APARTMENT, apartment=home, loop=loop)
    parts = (
        (apartment.valve, ComponentKind.VALVE),
        (apartment.thermostat, ComponentKind.THERMOSTAT),
        (apartment.circulator, ComponentKind.CIRCULATOR),
        (apartment.relay, ComponentKind.RELAY),
    )
    for part, kind in parts:
        if part is not None:
            yield Component(
                id=part.id, kind=kind, installed=part.installed, apartment=home, loop=loop
            )
