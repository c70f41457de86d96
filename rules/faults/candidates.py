"""Which faults can be present where in a plant, and whom each would reach."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from rules.faults.catalogue import Change, Fault, faults
from rules.faults.effects import encoded
from rules.faults.priors import WINDOW_DAYS, prior
from rules.heat.columns import COLUMN, Rows, row
from rules.model import ApartmentId, ComponentId, FaultId
from rules.plant import Apartment, Graph, HeatSource, Loop, Plant

__all__ = ["SOMETHING_ELSE", "Candidate", "local_candidates", "shared_candidates"]

SOMETHING_ELSE = FaultId("something_else")
# Causes no row describes, per 100 component-years: honest leftovers (common practice, no source).
_ELSE_SHARED = {"loop": 1.0, "source": 2.0}
_ELSE_LOCAL: dict[str, tuple[float, dict[str, float]]] = {
    "cold": (2.0, {"offset_f": -6.0}),
    "hot": (1.0, {"offset_f": 7.0}),
    "bang": (1.0, {"noise_bang": 0.5}),
    "gurgle": (1.0, {"noise_gurgle": 0.5}),
    "tick": (1.0, {"noise_tick": 0.5}),
    "hum": (1.0, {"noise_hum": 0.5}),
    "hiss": (1.0, {"noise_hiss": 0.5}),
    "rumble": (1.0, {"noise_rumble": 0.5}),
    "noise": (2.0, {"noise_other": 0.5}),
    "leak": (1.0, {"leak_seen": 0.5}),
    "gas": (0.2, {"gas_noticed": 0.7}),
    "co": (0.2, {"co_noticed": 0.7}),
    "smoke": (0.2, {"smoke_noticed": 0.7}),
    "sparks": (0.2, {"sparks_noticed": 0.7}),
    "tap": (2.0, {"tap_noticed": 0.5, "tap_cold": 1.0}),
    "other": (5.0, {"other_noticed": 0.5}),
}
_LOCAL_AT = ("valve", "thermostat", "apartment")


@dataclass(frozen=True, eq=False, slots=True)
class Candidate:
    """One fault at one component: its chance, its state of the chain, the homes it reaches."""

    fault: FaultId
    component: ComponentId
    homes: frozenset[ApartmentId]
    prior: float
    chain: Rows
    row: Fault | None  # None for something else


def shared_candidates(plant: Plant, on: date) -> tuple[Candidate, ...]:
    """Every fault of every component that several homes share, in a fixed order."""
    found: list[Candidate] = []
    for loop in plant.loops:
        found += _of_loop(plant, loop, on)
    for transformer in plant.transformers:
        homes = _powered_homes(plant, transformer.id)
        if homes:
            found += [
                _made(f, transformer.id, homes, transformer.installed, on)
                for f in faults().values()
                if f.at == "transformer" and _homes_fit(f, plant, homes)
            ]
    for source in plant.heat_sources:
        found += _of_source(plant, source, on)
    everyone = frozenset(a.id for a in plant.apartments)
    found += [
        _made(f, ComponentId(plant.id), everyone, None, on)
        for f in faults().values()
        if f.at == "building" and _homes_fit(f, plant, everyone) and _any_source_fits(f, plant)
    ]
    return tuple(found)


def local_candidates(plant: Plant, apartment: Apartment, on: date) -> tuple[Candidate, ...]:
    """Every fault that is one home's own, something else included, in a fixed order."""
    homes = frozenset({apartment.id})
    found: list[Candidate] = []
    for fault in faults().values():
        if fault.at not in _LOCAL_AT or not _fits(fault, plant, apartment):
            continue
        placed = _place(fault, apartment)
        if placed is not None:
            component, installed = placed
            found.append(_made(fault, component, homes, installed, on))
    found += [
        Candidate(
            SOMETHING_ELSE, ComponentId(apartment.id), homes, _rate(rate), _else(columns), None
        )
        for rate, columns in _ELSE_LOCAL.values()
    ]
    return tuple(found)


def _of_loop(plant: Plant, loop: Loop, on: date) -> list[Candidate]:
    homes = frozenset(a.id for a in plant.apartments if a.loop == loop.id)
    if not homes:
        return []
    places: dict[str, tuple[ComponentId, date | None]] = {
        "circulator": (loop.circulator.id, loop.circulator.installed),
        "loop": (ComponentId(loop.id), None),
    }
    if loop.relay is not None:
        places["relay"] = (loop.relay.id, loop.relay.installed)
    found = [
        _made(f, places[f.at][0], homes, places[f.at][1], on)
        for f in faults().values()
        if f.at in places and _homes_fit(f, plant, homes)
    ]
    dead = _else({"flow": 0.2})
    found.append(
        Candidate(
            SOMETHING_ELSE, ComponentId(loop.id), homes, _rate(_ELSE_SHARED["loop"]), dead, None
        )
    )
    return found


def _of_source(plant: Plant, source: HeatSource, on: date) -> list[Candidate]:
    fed = {loop.id for loop in plant.loops if loop.source == source.id}
    homes = frozenset(a.id for a in plant.apartments if a.loop in fed)
    if not homes:
        return []
    found = [
        _without_tap(_made(f, source.id, homes, source.installed, on), source)
        for f in faults().values()
        if f.at == "source" and _source_fits(f, source) and _homes_fit(f, plant, homes)
    ]
    weak = _else({"capacity": 0.3})
    found.append(
        Candidate(
            SOMETHING_ELSE,
            ComponentId(source.id),
            homes,
            _rate(_ELSE_SHARED["source"]),
            weak,
            None,
        )
    )
    return found


def _without_tap(candidate: Candidate, source: HeatSource) -> Candidate:
    """A boiler that does not heat the tap water cannot make it cold."""
    if source.hot_water in ("indirect", "indirect_priority"):
        return candidate
    if candidate.row is not None and candidate.row.change == Change(
        hot_water=candidate.row.change.hot_water
    ):
        return candidate  # the row is about hot water itself, whoever heats it
    chain = candidate.chain.copy()
    chain[[COLUMN[name] for name in ("tap_cold", "tap_lukewarm", "tap_too_hot")]] = 0.0
    chain.setflags(write=False)
    return replace(candidate, chain=chain)


def _powered_homes(plant: Plant, transformer: ComponentId) -> frozenset[ApartmentId]:
    """Homes that lose heat with this transformer: by their valve or by their loop's relay."""
    loops = {
        x.id for x in plant.loops if x.relay is not None and x.relay.transformer == transformer
    }
    direct = plant.apartments_downstream(transformer, Graph.POWER)
    return direct | frozenset(a.id for a in plant.apartments if a.loop in loops)


def _place(fault: Fault, apartment: Apartment) -> tuple[ComponentId, date | None] | None:
    if fault.at == "apartment":
        return ComponentId(apartment.id), None
    part = apartment.valve if fault.at == "valve" else apartment.thermostat
    if part is None or part.kind == "none":
        return None
    return part.id, part.installed


def _fits(fault: Fault, plant: Plant, apartment: Apartment) -> bool:
    where = fault.where
    loop = plant.loop(apartment.loop)
    return (
        _is_in(apartment.zoning, where.zoning)
        and _is_in(apartment.valve.kind if apartment.valve else "none", where.valve)
        and _is_in(apartment.thermostat.kind if apartment.thermostat else "none", where.thermostat)
        and _is_in(apartment.emitter, where.emitter)
        and where.has_transformer in (None, _has_transformer(apartment, loop))
        and _source_fits(fault, plant.source(loop.source))
    )


def _has_transformer(apartment: Apartment, loop: Loop) -> bool:
    by_relay = loop.relay is not None and loop.relay.transformer is not None
    return by_relay or (apartment.valve is not None and apartment.valve.transformer is not None)


def _homes_fit(fault: Fault, plant: Plant, homes: frozenset[ApartmentId]) -> bool:
    """A shared fault can be there if at least one home it reaches is of the kind it needs."""
    return any(_fits(fault, plant, plant.apartment(home)) for home in homes)


def _source_fits(fault: Fault, source: HeatSource) -> bool:
    where = fault.where
    return (
        _is_in(source.kind, where.source)
        and _is_in(source.control, where.control)
        and _is_in(source.hot_water, where.hot_water)
    )


def _any_source_fits(fault: Fault, plant: Plant) -> bool:
    return any(_source_fits(fault, source) for source in plant.heat_sources)


def _is_in(value: str, allowed: tuple[str, ...]) -> bool:
    return not allowed or value in allowed


def _made(
    fault: Fault,
    component: ComponentId,
    homes: frozenset[ApartmentId],
    installed: date | None,
    on: date,
) -> Candidate:
    return Candidate(
        fault.id, component, homes, prior(fault, installed, on), encoded(fault.id), fault
    )


def _rate(per_100_years: float) -> float:
    return per_100_years / 100 * WINDOW_DAYS / 365.25


def _else(columns: dict[str, float]) -> Rows:
    made = row(columns)
    made.setflags(write=False)
    return made
