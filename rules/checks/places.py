"""At which component a check is made, whether it has been made there, and where it may be noted."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

from rules.diagnosis import Suspect
from rules.diagnosis.measuring import homes_touched
from rules.faults.catalogue import fault_at
from rules.faults.rows import Check, Fault
from rules.model import ApartmentId, ComponentId, Found
from rules.plant import Apartment, Component, ComponentKind, Loop, Plant

__all__ = [
    "component_for",
    "doing_at",
    "fits_at",
    "is_made",
    "part_near",
    "place_of",
    "places_of",
    "row_of",
]

# Whoever notes a reading may name what the part belongs to, or the part at which one stood.
_NOTED_AT: Mapping[str, frozenset[str]] = {
    "valve": frozenset({"valve", "apartment"}),
    "thermostat": frozenset({"thermostat", "apartment"}),
    "apartment": frozenset({"apartment", "valve", "thermostat"}),
    "circulator": frozenset({"circulator", "loop"}),
    "relay": frozenset({"relay", "loop"}),
    "loop": frozenset({"loop", "circulator", "relay"}),
    "transformer": frozenset({"transformer"}),
    "source": frozenset({"source", "cascade"}),
    "building": frozenset({"building"}),
}

_IN_A_HOME = frozenset({ComponentKind.VALVE, ComponentKind.THERMOSTAT, ComponentKind.APARTMENT})


def row_of(plant: Plant, suspect: Suspect) -> Fault:
    """The catalogue's row of a suspect, as it is where the suspect stands."""
    return fault_at(suspect.fault, plant.component(suspect.component).kind.value)


def place_of(plant: Plant, component: ComponentId) -> str:
    """Where a part is mended, in the words of a check's ``place``: in a home, or in the boiler room.

    A home's own pump and relay hang with the others in the boiler room.
    """
    kind = plant.component(component).kind
    return "apartment" if kind in _IN_A_HOME else "boiler_room"


def component_for(
    plant: Plant, check: Check, suspect: Suspect, apartments: Sequence[ApartmentId]
) -> ComponentId | None:
    """Where this check is made for that suspect: at it, or at the part of that kind beside it.

    None where the plant has no such part there: the check cannot be made for this suspect.
    """
    part = plant.component(suspect.component)
    if check.sources and _heated_by(plant, suspect.reaches).isdisjoint(check.sources):
        return None
    if _at_itself(check, row_of(plant, suspect)):
        return part.id
    if part.kind.value == check.at or (part.kind is ComponentKind.RISER and check.on_risers):
        return part.id
    home = plant.apartment(
        part.apartment
        or next((a for a in apartments if a in suspect.reaches), None)
        or next(iter(suspect.reaches))
    )
    return part_near(plant, check.at, part, home)


@lru_cache(maxsize=1024)
def _heated_by(plant: Plant, homes: tuple[ApartmentId, ...]) -> frozenset[str]:
    """The kinds of heat source of some homes."""
    loops = {plant.apartment(home).loop for home in homes}
    return frozenset(plant.source(plant.loop(loop).source).kind for loop in loops)


def is_about(check: Check, fault: Fault, at: ComponentId, component: ComponentId) -> bool:
    """Whether what a fault at one component says of a check holds where it is made.

    The pump of the hot water or the primary loop, which stands at its boiler, is not the one of a loop.
    """
    return at == component or not _at_itself(check, fault)


def _at_itself(check: Check, fault: Fault) -> bool:
    return any(r.at_own for r in fault.checks if r.check == check.id)


def part_near(plant: Plant, kind: str, part: Component, home: Apartment) -> ComponentId | None:
    """The part of this kind that a home, and the loop of the suspected part, have."""
    loop, own = plant.loop(part.loop or home.loop), home.circulator
    of_home = own is not None and part.apartment is not None
    if kind == "valve":
        return home.valve.id if home.valve else None
    if kind == "thermostat":
        stat = home.thermostat
        return stat.id if stat is not None and stat.kind != "none" else None
    if kind == "relay":
        relay = plant.relay_of(home) if of_home else loop.relay
        return relay.id if relay else None
    if kind == "transformer":
        return _power(plant, home, loop, part)
    if kind == "circulator":
        pump = own if of_home else loop.circulator or own
        return pump.id if pump else None
    if kind == "loop" and of_home and own is not None:
        return own.id  # the home's own line, where its pump stands
    places = {
        "apartment": ComponentId(home.id),
        "loop": ComponentId(loop.id),
        "source": ComponentId(loop.source),
        "building": ComponentId(plant.id),
    }
    return places[kind]


def _power(plant: Plant, home: Apartment, loop: Loop, part: Component) -> ComponentId | None:
    relay = plant.relay_of(home) if part.apartment is not None else loop.relay
    of_valve = home.valve.transformer if home.valve else None
    of_relay = relay.transformer if relay else None
    is_relay = part.kind is ComponentKind.RELAY
    return of_relay or of_valve if is_relay else of_valve or of_relay


def doing_at(plant: Plant, check: Check, component: ComponentId) -> str:
    """What is done for a check there; at a loop with risers also where one of them is noted.

    At a home's own pump what is looked at on a loop is looked at on that home's line.
    """
    part = plant.component(component)
    kind = part.kind
    if check.at == "loop" and kind is ComponentKind.CIRCULATOR and part.apartment is not None:
        return f"{check.do}. Here it is about the line of {part.apartment}, at its own pump"
    if not check.on_risers:
        return check.do
    if kind is ComponentKind.RISER:
        return check.on_risers
    risers = [riser.id for riser in plant.risers if riser.loop == component]
    if kind is ComponentKind.LOOP and risers:
        return f"{check.do}. What is so in one riser alone is noted at that riser, as {risers[0]}"
    return check.do


def fits_at(plant: Plant, check: Check, component: ComponentId) -> bool:
    """Whether a reading of this check can be about that component."""
    kind = plant.component(component).kind
    if kind is ComponentKind.RISER:
        return bool(check.on_risers)
    name = "source" if kind is ComponentKind.CASCADE else kind.value
    return kind.value in _NOTED_AT[check.at] or name in check.also_at


def places_of(plant: Plant, check: Check, near: ComponentId) -> tuple[ComponentId, ...]:
    """The components that a check is made at, those that share most homes with another first."""
    homes = homes_touched(plant, near)
    kinds = {check.at, *(("riser",) if check.on_risers else ()), *check.also_at}
    found = [c.id for c in plant.components.values() if c.kind.value in kinds]
    own = [c for c in found if plant.component(c).kind.value == check.at]

    def apart(place: ComponentId) -> tuple[int, int]:
        touched = homes_touched(plant, place)
        return -len(touched & homes), len(touched)

    return tuple(sorted(own or found, key=apart))


def is_made(plant: Plant, check: Check, component: ComponentId, findings: Iterable[Found]) -> bool:
    """Whether a check has been made there: at that part, or at one of another kind for its homes.

    Who notes a pump's volts under its loop has made the check all the same.
    """
    kind = plant.component(component).kind
    return any(
        found.component == component
        or (
            plant.component(found.component).kind is not kind
            and homes_touched(plant, found.component) == homes_touched(plant, component)
        )
        for found in findings
        if found.check == check.id
    )
