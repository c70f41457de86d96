"""Which faults can be present where in a plant, and whom each would reach."""

from __future__ import annotations

from datetime import date

from rules.faults.candidate import SOMETHING_ELSE, Candidate, Known, afar, leftover, made
from rules.faults.catalogue import faults
from rules.faults.fitting import any_source_fits, fits, homes_fit
from rules.faults.lives import NOTHING_LEARNED, LearnedLives
from rules.faults.loops import is_at_own_pump, of_loop, of_risers, of_run, stops_what_follows
from rules.faults.power import of_transformer
from rules.faults.rows import Fault
from rules.faults.sources import at_the_taps, of_cascade, of_source
from rules.model import ApartmentId, ComponentId, PartId
from rules.plant import Apartment, Plant, Thermostat, Valve

__all__ = ["SOMETHING_ELSE", "VALVE_BODY", "Candidate", "local_candidates", "shared_candidates"]

# Causes no row describes, per 100 home-years: honest leftovers (common practice, no source).
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
    "tap": (0.4, {"tap_noticed": 0.5, "tap_cold": 1.0}),
    "other": (5.0, {"other_noticed": 0.5}),
}
# A valve is a head on a body; what is mended with a body first does not go with a new head.
VALVE_BODY = PartId("valve_body")
_LOCAL_AT = ("valve", "thermostat", "apartment")


def shared_candidates(
    plant: Plant, on: date, lives: LearnedLives = NOTHING_LEARNED
) -> tuple[Candidate, ...]:
    """Every fault of every component that several homes share, in a fixed order."""
    known = Known(on, lives)
    found: list[Candidate] = []
    for loop in plant.loops:
        found += of_loop(plant, loop, known)
        found += of_risers(plant, loop, known)
    for run in plant.runs:
        if run.in_series:
            found += of_run(plant, run, known)
    for transformer in plant.transformers:
        found += of_transformer(plant, transformer, known)
    for source in plant.heat_sources:
        found += of_source(plant, source, known)
    for cascade in plant.cascades:
        found += of_cascade(plant, cascade, known)
    everyone = frozenset(a.id for a in plant.apartments)
    found += [
        at_the_taps(_of_building(f, plant, everyone, known), plant.heat_sources)
        for f in faults().values()
        if f.at == "building" and homes_fit(f, plant, everyone) and any_source_fits(f, plant)
    ]
    return tuple(found)


def _of_building(
    fault: Fault, plant: Plant, everyone: frozenset[ApartmentId], known: Known
) -> Candidate:
    """A fault of the whole house; some are as much likelier as there are homes to have them."""
    share = 1 + fault.rate_per_home * len(everyone) / (fault.rate_per_100_years or 1)
    return made(fault, ComponentId(plant.id), everyone, known, share=share)


def local_candidates(
    plant: Plant, apartment: Apartment, on: date, lives: LearnedLives = NOTHING_LEARNED
) -> tuple[Candidate, ...]:
    """Every fault that is one home's own, something else included, in a fixed order."""
    known, homes = Known(on, lives), frozenset({apartment.id})
    run = plant.run_of(apartment.id)
    is_followed = run is not None and run.in_series and run.homes[-1] != apartment.id
    found: list[Candidate] = []
    for fault in faults().values():
        if fault.at not in _LOCAL_AT or not fits(fault, plant, apartment):
            continue
        if is_followed and stops_what_follows(fault):
            continue
        if fault.at == "apartment":
            found.append(made(fault, ComponentId(apartment.id), homes, known))
        else:
            found += _at_part(fault, apartment, homes, known)
    found += _at_own_pump(plant, apartment, known)
    found += [
        leftover(ComponentId(apartment.id), homes, rate, columns)
        for rate, columns in _ELSE_LOCAL.values()
    ]
    return tuple(found)


def _at_own_pump(plant: Plant, apartment: Apartment, known: Known) -> list[Candidate]:
    """What can be wrong with a home's own pump, what sits beside it, and its relay.

    They stand in the boiler room: what is heard and seen of them is farther away.
    """
    pump, relay = apartment.circulator, apartment.relay
    if pump is None:
        return []
    homes = frozenset({apartment.id})
    found = []
    for fault in faults().values():
        part = relay if fault.at == "relay" else pump
        own = fault.at == "circulator" or is_at_own_pump(fault)
        if part is None or not own or not fits(fault, plant, apartment):
            continue
        installed = None if fault.beside_pump else part.installed
        found.append(afar(made(fault, part.id, homes, known, installed=installed)))
    return found


def _at_part(
    fault: Fault, apartment: Apartment, homes: frozenset[ApartmentId], known: Known
) -> list[Candidate]:
    """A fault of a home's valve or thermostat, where it has one."""
    part: Valve | Thermostat | None = (
        apartment.valve if fault.at == "valve" else apartment.thermostat
    )
    if part is None or part.kind == "none":
        return []
    installed = part.installed
    if isinstance(part, Valve) and fault.parts[:1] == (VALVE_BODY,):
        installed = part.body_since
    return [made(fault, part.id, homes, known, installed=installed, variant=part.kind)]
