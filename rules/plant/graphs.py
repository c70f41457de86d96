"""Who depends on whom: the five graphs of a plant, as edges from what feeds to what is fed.

Theory of operation
-------------------
The footprint of a fault is everything downstream of it in the graph it belongs to, and because the
graphs cut the building differently, the pattern of complaints tells the graphs apart.

*Water* carries heat: source, loop, circulator, the riser (where the loop has them), the homes'
valves (where a home has one) or pumps of their own, the homes. The boilers of a cascade feed what
they share, and that feeds the loops. A source that is fed by a loop through an exchanger hangs
below that loop's circulator.

*Power* is 24 V: a transformer feeds valves, relays, and thermostats that are not on batteries. No
file says where such a thermostat takes its power, so it is read as fed by what feeds the valve it
drives, or, where a home has no valve, by what feeds the relay it drives. What a relay in turn
starts is demand, not power.

*Demand* is the call for heat: home, thermostat, valve, (end switch) relay, then the pump and the
source. The end switches of a loop are parallel, so each alone reaches the relay. A two-wire valve
has no end switch: its thermostat reaches the relay without it. A home with its own pump has no
valve in the path: its relay starts that pump and reaches the loop's relay, the panel. A loop
without a relay passes the call straight to its pump and its source. Homes with radiator valves, or
with no control at all, never call.

*Pressure* has no direction: a leak, lost air cushion or starved fill is felt in the whole
connected body of water, which is a source, the loops on it and all that hangs on them. An
exchanger parts two bodies.

*Neighbours* are homes that warm each other through a floor or a wall: same floor in the next
line, or same line one floor away. It is not followed further than one step, because the effect
dies away.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from rules.model import ComponentId
from rules.plant.components import Apartment, Loop
from rules.plant.vocabulary import Graph

if TYPE_CHECKING:
    from rules.plant.building import Plant

__all__ = ["Edges", "edges_of", "reach", "reversed_edges"]

Edges = Mapping[ComponentId, tuple[ComponentId, ...]]
Pair = tuple[ComponentId, ComponentId]


def edges_of(plant: Plant, graph: Graph) -> Edges:
    """All edges of one graph, the building itself standing above everything."""
    pairs = {
        Graph.WATER: _water,
        Graph.POWER: _power,
        Graph.DEMAND: _demand,
        Graph.PRESSURE: _pressure,
        Graph.NEIGHBOURS: _neighbours,
    }[graph](plant)
    return _gathered(pairs)


def reversed_edges(edges: Edges) -> Edges:
    """The edges turned round: from what is fed to what feeds it."""
    return _gathered((fed, feeder) for feeder, all_fed in edges.items() for fed in all_fed)


def reach(edges: Edges, start: ComponentId) -> frozenset[ComponentId]:
    """Everything that can be reached from ``start``, itself left out."""
    seen = {start}
    waiting = [start]
    while waiting:
        for fed in edges.get(waiting.pop(), ()):
            if fed not in seen:
                seen.add(fed)
                waiting.append(fed)
    return frozenset(seen - {start})


def _gathered(pairs: Iterable[Pair]) -> Edges:
    found: dict[ComponentId, dict[ComponentId, None]] = {}
    for feeder, fed in pairs:
        found.setdefault(feeder, {})[fed] = None
    return {feeder: tuple(all_fed) for feeder, all_fed in found.items()}


def _top(plant: Plant) -> ComponentId:
    return ComponentId(plant.id)


def _home(apartment: Apartment) -> ComponentId:
    return ComponentId(apartment.id)


def _water(plant: Plant) -> Iterable[Pair]:
    for source in plant.heat_sources:
        if source.fed_by is None:
            yield _top(plant), source.id
        else:
            yield _outflow(plant.loop(source.fed_by)), source.id
    for cascade in plant.cascades:
        yield from ((source.id, cascade.id) for source in cascade.sources)
    for loop in plant.loops:
        yield plant.head_of(loop.id), loop.id
        if loop.circulator is not None:
            yield loop.id, loop.circulator.id
    for riser in plant.risers:
        yield _outflow(plant.loop(riser.loop)), riser.id
    for apartment in plant.apartments:
        upright = plant.riser_of(apartment.id)
        main = _outflow(plant.loop(apartment.loop))
        yield from _water_of_home(apartment, upright.id if upright else main)


def _outflow(loop: Loop) -> ComponentId:
    """What the water of a loop passes last that all homes on it share."""
    return loop.id if loop.circulator is None else loop.circulator.id


def _water_of_home(apartment: Apartment, feeder: ComponentId) -> Iterable[Pair]:
    lets_pass = apartment.valve or apartment.circulator
    if lets_pass is None:
        yield feeder, _home(apartment)
    else:
        yield feeder, lets_pass.id
        yield lets_pass.id, _home(apartment)


def _power(plant: Plant) -> Iterable[Pair]:
    for transformer in plant.transformers:
        yield _top(plant), transformer.id
    for relay in plant.relays:
        if relay.transformer:
            yield relay.transformer, relay.id
    for apartment in plant.apartments:
        valve, thermostat = apartment.valve, apartment.thermostat
        driven = valve or plant.relay_of(apartment)
        if valve and valve.transformer:
            yield valve.transformer, valve.id
        if thermostat and thermostat.kind == "powered" and driven and driven.transformer:
            yield driven.transformer, thermostat.id


def _demand(plant: Plant) -> Iterable[Pair]:
    for loop in plant.loops:
        if loop.relay:
            yield from ((loop.relay.id, started) for started in _started(plant, loop))
    for cascade in plant.cascades:
        yield from ((cascade.id, source.id) for source in cascade.sources)
    for source in plant.heat_sources:
        if source.fed_by is not None:
            for called in _called(plant, plant.loop(source.fed_by)):
                yield source.id, called
    for apartment in plant.apartments:
        yield _top(plant), _home(apartment)
        yield from _demand_of_home(apartment, _called(plant, plant.loop(apartment.loop)))


def _demand_of_home(apartment: Apartment, called: Iterable[ComponentId]) -> Iterable[Pair]:
    thermostat, valve, pump = apartment.thermostat, apartment.valve, apartment.circulator
    calls = apartment.zoning in {"zone_valve", "zone_circulator"}
    if not calls or thermostat is None or thermostat.kind == "none":
        return
    yield _home(apartment), thermostat.id
    if valve:
        yield thermostat.id, valve.id
    starts_call = valve.id if valve and valve.has_end_switch else thermostat.id
    if apartment.relay:
        yield starts_call, apartment.relay.id
        starts_call = apartment.relay.id
    for each in (*called, *(() if pump is None else (pump.id,))):
        yield starts_call, each


def _called(plant: Plant, loop: Loop) -> tuple[ComponentId, ...]:
    return (loop.relay.id,) if loop.relay else _started(plant, loop)


def _started(plant: Plant, loop: Loop) -> tuple[ComponentId, ...]:
    """What a call on a loop starts: its pump, if it has one, and what heats it."""
    pump = () if loop.circulator is None else (loop.circulator.id,)
    return (*pump, plant.head_of(loop.id))


def _pressure(plant: Plant) -> Iterable[Pair]:
    heads = {source.id for source in plant.heat_sources if source.fed_by is not None}
    for feeder, fed in _water(plant):
        if feeder == _top(plant) or fed in heads:  # an exchanger starts a body of water of its own
            yield _top(plant), fed
        else:
            yield feeder, fed
            yield fed, feeder


def _neighbours(plant: Plant) -> Iterable[Pair]:
    for apartment in plant.apartments:
        yield _top(plant), _home(apartment)
    lines = sorted({apartment.line for apartment in plant.apartments}, key=_natural)
    place = {line: number for number, line in enumerate(lines)}
    homes: dict[tuple[int, int], list[Apartment]] = {}
    for apartment in plant.apartments:
        homes.setdefault((apartment.floor, place[apartment.line]), []).append(apartment)
    for (floor, line), here in homes.items():
        around = [(floor, line), (floor, line - 1), (floor, line + 1), (floor - 1, line)]
        near = [home for spot in [*around, (floor + 1, line)] for home in homes.get(spot, ())]
        for apartment in here:
            yield from ((_home(apartment), _home(home)) for home in near if home != apartment)


def _natural(line: str) -> tuple[tuple[int, str], ...]:
    """Order in which 2 comes before 10 and A before B."""
    return tuple(
        (int(part), "") if part.isdecimal() else (-1, part.casefold())
        for part in re.findall(r"\d+|\D+", line)
    )
