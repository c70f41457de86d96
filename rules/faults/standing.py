"""At which component of a plant a fault may be named, by whoever has found it.

Theory of operation
-------------------
A row says at what kind of component its fault stands. Whoever names it may instead name what that part
belongs to (its home, its loop, the building), or the part of a home or loop at which it was found: air
in a home's pipes at its valve, a check that leaks at the pump it sits in. A pump that has seized at a
thermostat is neither.
"""

from __future__ import annotations

from collections.abc import Mapping

from rules.faults.rows import Fault
from rules.plant import Component, ComponentKind, Plant

__all__ = ["can_stand_at"]

# Kind of component of a row -> kinds that may be named beside it.
_BESIDE: Mapping[str, frozenset[str]] = {
    "valve": frozenset({"apartment"}),
    "thermostat": frozenset({"apartment"}),
    "apartment": frozenset({"valve", "thermostat", "circulator"}),
    "circulator": frozenset({"loop"}),
    "relay": frozenset({"loop"}),
    "loop": frozenset({"circulator"}),
    "riser": frozenset({"loop"}),
    "transformer": frozenset(),
    "source": frozenset({"cascade", "building"}),
    "building": frozenset({"source", "cascade"}),
}


def can_stand_at(plant: Plant, fault: Fault, component: Component) -> bool:
    """Whether a fault may be named at a component; of a home's own pump also at that home."""
    kind = component.kind
    if kind.value in {fault.at, *fault.also_at} or kind.value in _BESIDE[fault.at]:
        return True
    if kind is ComponentKind.RISER:
        return fault.on_risers is not None
    if kind is not ComponentKind.APARTMENT or component.apartment is None:
        return False
    of_pump = fault.beside_pump or fault.at in ("circulator", "relay")
    return of_pump and plant.apartment(component.apartment).circulator is not None
