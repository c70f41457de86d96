"""A plant whose parts have been replaced since its building file was written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import TypeVar

from rules.model import ComponentId
from rules.plant.building import Plant
from rules.plant.components import (
    Apartment,
    Circulator,
    Loop,
    Relay,
    Thermostat,
    Valve,
)

__all__ = ["renewed"]

Part = TypeVar("Part", Valve, Thermostat, Circulator, Relay)


def renewed(
    plant: Plant,
    installed: Mapping[ComponentId, date],
    bodies: Mapping[ComponentId, date | None] | None = None,
) -> Plant:
    """The same plant with new dates of installation; components it does not have are ignored.

    ``bodies`` of valves that got a new head are as old as it says.
    """
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
        apartments=tuple(_apartment(home, installed, bodies or {}) for home in plant.apartments),
    )


def _loop(loop: Loop, installed: Mapping[ComponentId, date]) -> Loop:
    return replace(
        loop,
        circulator=_part(loop.circulator, installed),
        relay=_part(loop.relay, installed),
    )


def _apartment(
    home: Apartment,
    installed: Mapping[ComponentId, date],
    bodies: Mapping[ComponentId, date | None],
) -> Apartment:
    valve = _part(home.valve, installed)
    if valve is not None and valve.id in bodies:
        valve = replace(valve, has_newer_head=True, body_installed=bodies[valve.id])
    return replace(
        home,
        valve=valve,
        thermostat=_part(home.thermostat, installed),
        circulator=_part(home.circulator, installed),
        relay=_part(home.relay, installed),
    )


def _part(part: Part | None, installed: Mapping[ComponentId, date]) -> Part | None:
    if part is None:
        return None
    return replace(part, installed=installed.get(part.id, part.installed))
