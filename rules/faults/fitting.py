"""Which fault rows can be true of a home, of several, of a heat source."""

from __future__ import annotations

from collections.abc import Iterable

from rules.faults.rows import Fault
from rules.model import ApartmentId
from rules.plant import Apartment, HeatSource, Plant

__all__ = ["any_source_fits", "fits", "homes_fit", "source_fits"]


def fits(fault: Fault, plant: Plant, apartment: Apartment) -> bool:
    """Whether a home, its loop and what heats it are of the kind that a row needs."""
    where = fault.where
    loop = plant.loop(apartment.loop)
    cascade = plant.cascade_of(loop.source)
    sources = (plant.source(loop.source),) if cascade is None else cascade.sources
    return (
        _is_in(apartment.zoning, where.zoning)
        and _is_in(apartment.valve.kind if apartment.valve else "none", where.valve)
        and _is_in(apartment.thermostat.kind if apartment.thermostat else "none", where.thermostat)
        and _is_in(apartment.emitter, where.emitter)
        and where.has_transformer in (None, _has_transformer(plant, apartment))
        and any(source_fits(fault, source) for source in sources)
    )


def homes_fit(fault: Fault, plant: Plant, homes: Iterable[ApartmentId]) -> bool:
    """A shared fault can be there if at least one home it reaches is of the kind it needs."""
    return any(fits(fault, plant, plant.apartment(home)) for home in homes)


def source_fits(fault: Fault, source: HeatSource) -> bool:
    """Whether a heat source is of the kind that a row needs."""
    where = fault.where
    return (
        _is_in(source.kind, where.source)
        and _is_in(source.control, where.control)
        and _is_in(source.hot_water, where.hot_water)
    )


def any_source_fits(fault: Fault, plant: Plant) -> bool:
    """Whether one of a plant's heat sources is."""
    return any(source_fits(fault, source) for source in plant.heat_sources)


def _has_transformer(plant: Plant, apartment: Apartment) -> bool:
    relay = plant.relay_of(apartment)
    by_relay = relay is not None and relay.transformer is not None
    return by_relay or (apartment.valve is not None and apartment.valve.transformer is not None)


def _is_in(value: str, allowed: tuple[str, ...]) -> bool:
    return not allowed or value in allowed
