"""A plant whose parts have been replaced since its building file was written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from rules.model import ComponentId
from rules.plant.building import Plant
from rules.plant.components import Apartment, Loop

__all__ = ["renewed"]


def renewed(plant: Plant, installed: Mapping[ComponentId, date]) -> Plant:
    """The same plant with new dates of installation; components it does not have are ignored."""
    if not installed:
        return plant
    return replace(
        plant,
        heat_sources=tuple(
            replace(s, installed=installed.get(s.id, s.installed)) for s in plant.heat_sources
        ),
        transformers=tuple(
            replace(t, installed=installed.get(t.id, t.installed)) for t in plant.transformers
        ),
        loops=tuple(_loop(loop, installed) for loop in plant.loops),
        apartments=tuple(_apartment(home, installed) for home in plant.apartments),
    )


def _loop(loop: Loop, installed: Mapping[ComponentId, date]) -> Loop:
    pump, relay = loop.circulator, loop.relay
    return replace(
        loop,
        circulator=replace(pump, installed=installed.get(pump.id, pump.installed)),
        relay=None
        if relay is None
        else replace(relay, installed=installed.get(relay.id, relay.installed)),
    )


def _apartment(home: Apartment, installed: Mapping[ComponentId, date]) -> Apartment:
    valve, stat = home.valve, home.thermostat
    return replace(
        home,
        valve=None
        if valve is None
        else replace(valve, installed=installed.get(valve.id, valve.installed)),
        thermostat=None
        if stat is None
        else replace(stat, installed=installed.get(stat.id, stat.installed)),
    )
