"""What can be wrong with a 24 V transformer: whom it starves of what, how likely too much hangs on it.

Theory of operation
-------------------
One transformer may feed the valves of a loop and another its relay. A home whose valve has lost its
volts finds the pump running for others; a home whose relay has lost them has an open valve and no pump.
Whether a transformer carries too much is arithmetic before it is a suspicion: volt-amperes of all that
hangs on it against its nameplate, four fifths of which leave a margin.
"""

from __future__ import annotations

from dataclasses import replace

from rules.faults.candidate import Candidate, Known, made
from rules.faults.catalogue import faults
from rules.faults.fitting import homes_fit
from rules.faults.rows import Fault
from rules.heat.columns import COLUMN, Rows
from rules.model import ApartmentId, ComponentId
from rules.plant import Graph, Plant, Transformer, transformer_load

__all__ = ["of_transformer"]

# How often too much hangs on a transformer against the stated rate, by what its file adds up to: within
# the margin, past it, past the nameplate (common practice, no source).
_WITHIN, _PAST_MARGIN, _PAST_RATING = 0.3, 3.0, 20.0


def of_transformer(plant: Plant, transformer: Transformer, known: Known) -> list[Candidate]:
    """What can be wrong with one transformer."""
    homes = _powered_homes(plant, transformer.id)
    return [
        _as_each_is_fed(
            plant,
            made(
                fault,
                transformer.id,
                homes,
                known,
                installed=transformer.installed,
                share=_load_share(plant, transformer, fault),
            ),
        )
        for fault in faults().values()
        if fault.at == "transformer" and homes_fit(fault, plant, homes)
    ]


def _load_share(plant: Plant, transformer: Transformer, fault: Fault) -> float:
    load = transformer_load(plant, transformer.id)
    if not fault.by_load or load.share is None:
        return 1.0
    if load.is_past_rating:
        return _PAST_RATING
    return _PAST_MARGIN if load.is_past_margin else _WITHIN


def _as_each_is_fed(plant: Plant, candidate: Candidate) -> Candidate:
    """The same with what each home loses where valve and relay hang on two transformers."""
    by_home: dict[ApartmentId, Rows] = {}
    for apartment in candidate.homes:
        home = plant.apartment(apartment)
        relay = plant.relay_of(home)
        feeds_relay = relay is not None and relay.transformer == candidate.component
        feeds_valve = home.valve is None or home.valve.transformer == candidate.component
        if feeds_relay and feeds_valve:
            continue
        chain = candidate.chain.copy()
        chain[COLUMN["relay_dead"]] *= feeds_relay
        chain[COLUMN["no_power"]] *= feeds_valve
        chain.setflags(write=False)
        by_home[apartment] = chain
    return replace(candidate, by_home=by_home) if by_home else candidate


def _powered_homes(plant: Plant, transformer: ComponentId) -> frozenset[ApartmentId]:
    """Homes that lose heat with this transformer: by their valve or by their loop's relay."""
    direct = plant.apartments_downstream(transformer, Graph.POWER)
    started = (
        a
        for a in plant.apartments
        if (relay := plant.relay_of(a)) is not None and relay.transformer == transformer
    )
    return direct | frozenset(a.id for a in started)
