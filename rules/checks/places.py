"""At which component a check is made, and whether it has been made there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rules.diagnosis import Suspect
from rules.diagnosis.measuring import homes_touched
from rules.faults.catalogue import fault_at
from rules.faults.rows import Check, Fault
from rules.model import ApartmentId, ComponentId, Found
from rules.plant import Apartment, Component, ComponentKind, Loop, Plant

__all__ = ["component_for", "doing_at", "is_made", "row_of"]


def row_of(plant: Plant, suspect: Suspect) -> Fault:
    """The catalogue's row of a suspect, as it is where the suspect stands."""
    return fault_at(suspect.fault, plant.component(suspect.component).kind.value)


def component_for(
    plant: Plant, check: Check, suspect: Suspect, apartments: Sequence[ApartmentId]
) -> ComponentId | None:
    """Where this check is made for that suspect: at it, or at the part of that kind beside it.

    None where the plant has no such part there: the check cannot be made for this suspect.
    """
    part = plant.component(suspect.component)
    if part.kind.value == check.at or (part.kind is ComponentKind.RISER and check.on_risers):
        return part.id
    home = plant.apartment(
        part.apartment
        or next((a for a in apartments if a in suspect.reaches), None)
        or next(iter(suspect.reaches))
    )
    return _beside(plant, check.at, part, home)


def _beside(plant: Plant, kind: str, part: Component, home: Apartment) -> ComponentId | None:
    """The part of this kind that a home, and the loop of the suspected part, have."""
    loop = plant.loop(part.loop or home.loop)
    if kind == "valve":
        return home.valve.id if home.valve else None
    if kind == "thermostat":
        stat = home.thermostat
        return stat.id if stat is not None and stat.kind != "none" else None
    if kind == "relay":
        return loop.relay.id if loop.relay else None
    if kind == "transformer":
        return _power(home, loop, relay_first=part.kind is ComponentKind.RELAY)
    places = {
        "apartment": ComponentId(home.id),
        "circulator": loop.circulator.id,
        "loop": ComponentId(loop.id),
        "source": ComponentId(loop.source),
        "building": ComponentId(plant.id),
    }
    return places[kind]


def _power(home: Apartment, loop: Loop, *, relay_first: bool) -> ComponentId | None:
    of_valve = home.valve.transformer if home.valve else None
    of_relay = loop.relay.transformer if loop.relay else None
    return of_relay or of_valve if relay_first else of_valve or of_relay


def doing_at(plant: Plant, check: Check, component: ComponentId) -> str:
    """What is done for a check there."""
    on_riser = plant.component(component).kind is ComponentKind.RISER
    return check.on_risers if on_riser and check.on_risers else check.do


def is_made(plant: Plant, check: Check, component: ComponentId, findings: Iterable[Found]) -> bool:
    """Whether a check has been made there: at that part, or at one of another kind for its homes.

    Who notes a pump's volts under its loop has made the check all the same.
    """
    kind, homes = plant.component(component).kind, homes_touched(plant, component)
    return any(
        found.component == component
        or (
            plant.component(found.component).kind is not kind
            and homes_touched(plant, found.component) == homes
        )
        for found in findings
        if found.check == check.id
    )
