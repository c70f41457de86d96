"""A plant: one building's heating from the boiler to the homes, and what depends on what in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import Any, TypeVar

from rules.model import ApartmentId, BuildingId, ComponentId
from rules.plant.cascades import Cascade, cascades_of
from rules.plant.components import Apartment, Component, HeatSource, Loop, Relay, Transformer
from rules.plant.document import document_of
from rules.plant.graphs import Edges, edges_of, reach, reversed_edges
from rules.plant.inventory import inventory
from rules.plant.power import Circuit, circuit_of, transformer_of
from rules.plant.risers import Riser, risers_of
from rules.plant.runs import Run, runs_of
from rules.plant.vocabulary import Graph

__all__ = ["Plant", "UnknownComponent"]


Key = TypeVar("Key")
Value = TypeVar("Value")


class UnknownComponent(KeyError):  # noqa: N818 - errors here name the situation
    """The plant has nothing of this name, or nothing of this name and kind."""


@dataclass(frozen=True)
class Plant:
    """One building's heating as its file states it; graphs are derived on first use and kept.

    The readers of this package refuse files that do not hang together; a plant put together by hand
    must name only loops, sources and transformers that it has, and give every part its own id.
    """

    id: BuildingId
    name: str
    timezone: str
    heat_rule: str | None
    weather_station: str | None
    built: int | None
    construction: str
    time_constant_hours: float
    design_outdoor_f: float
    heat_sources: tuple[HeatSource, ...]
    transformers: tuple[Transformer, ...]
    loops: tuple[Loop, ...]
    apartments: tuple[Apartment, ...]
    access: str | None = None  # how a technician gets in: key box, bell, hours

    def __hash__(self) -> int:
        """By its name alone: a hash of every part would take as long as much of a diagnosis."""
        return hash((self.id, self.name))

    @cached_property
    def components(self) -> Mapping[ComponentId, Component]:
        """Everything that has an id, the building itself included."""
        return MappingProxyType({component.id: component for component in inventory(self)})

    def component(self, id: ComponentId) -> Component:  # noqa: A002 - the trade says id
        """The component of this id."""
        return _found(self.components, id)

    def apartment(self, id: ApartmentId) -> Apartment:  # noqa: A002 - the trade says id
        """The apartment of this id."""
        return _found(self._apartments, id)

    def loop(self, id: ComponentId) -> Loop:  # noqa: A002 - the trade says id
        """The loop of this id."""
        return _found(self._loops, id)

    def source(self, id: ComponentId) -> HeatSource:  # noqa: A002 - the trade says id
        """The heat source of this id."""
        return _found(self._sources, id)

    def transformer(self, id: ComponentId) -> Transformer:  # noqa: A002 - the trade says id
        """The transformer of this id."""
        return _found(self._transformers, id)

    def downstream(self, component: ComponentId, graph: Graph) -> frozenset[ComponentId]:
        """Everything fed by a component in a graph, itself left out; neighbours go one step."""
        self.component(component)
        edges = self._edges(graph)
        if graph is Graph.NEIGHBOURS:
            return frozenset(edges.get(component, ()))
        return reach(edges, component)

    def apartments_downstream(self, component: ComponentId, graph: Graph) -> frozenset[ApartmentId]:
        """The homes that lose something through this graph when the component fails.

        These are the homes of everything downstream of it, and its own home if it stands in one.
        A call for heat runs the other way, from the home: in the demand graph also the homes
        whose call has to pass through the component are counted.
        """
        touched = {component, *self.downstream(component, graph)}
        if graph is Graph.DEMAND:
            touched |= reach(self._callers, component)
        homes = (self.components[each].apartment for each in touched)
        return frozenset(home for home in homes if home is not None)

    @cached_property
    def runs(self) -> tuple[Run, ...]:
        """The loops of which the order of homes along the pipe is known."""
        return runs_of(self)

    def run_of(self, apartment: ApartmentId) -> Run | None:
        """The run that a home is part of, if it is part of one."""
        return self._run_by_home.get(apartment)

    @cached_property
    def cascades(self) -> tuple[Cascade, ...]:
        """The boilers that stand on one header."""
        return cascades_of(self)

    def cascade_of(self, source: ComponentId) -> Cascade | None:
        """The cascade that a heat source is part of, if it is part of one."""
        return self._cascade_by_source.get(source)

    @cached_property
    def relays(self) -> tuple[Relay, ...]:
        """All relays, those of loops first."""
        of_loops, of_homes = (x.relay for x in self.loops), (a.relay for a in self.apartments)
        return tuple(relay for relay in (*of_loops, *of_homes) if relay is not None)

    def relay_of(self, home: Apartment) -> Relay | None:
        """What starts the pump that serves a home: its own relay, or that of its loop."""
        return home.relay or self.loop(home.loop).relay

    @cached_property
    def _circuits(self) -> Mapping[ComponentId, Circuit]:
        return {each.id: circuit_of(self, each.id) for each in self.transformers}

    def circuit_of(self, home: Apartment) -> Circuit | None:
        """The homes of the transformer that this one hangs on, if it hangs on one."""
        feeds = transformer_of(self, home)
        return None if feeds is None else self._circuits[feeds]

    def head_of(self, loop: ComponentId) -> ComponentId:
        """What heats a loop: its boiler or station, or the cascade that this is part of."""
        source = self.loop(loop).source
        cascade = self.cascade_of(source)
        return source if cascade is None else cascade.id

    @cached_property
    def risers(self) -> tuple[Riser, ...]:
        """The uprights of the loops that have them."""
        return risers_of(self)

    def riser_of(self, apartment: ApartmentId) -> Riser | None:
        """The riser that a home hangs on, if there is one."""
        return self._riser_by_home.get(apartment)

    def is_highest(self, apartment: ApartmentId) -> bool:
        """Whether no home of the same body of heating water lies on a higher floor."""
        home = self.apartment(apartment)
        return home.floor == self._highest[self.head_of(home.loop)]

    def neighbours(self, apartment: ApartmentId) -> frozenset[ApartmentId]:
        """The homes that share a floor, a ceiling or a wall with this one."""
        self.apartment(apartment)
        near = self._edges(Graph.NEIGHBOURS).get(ComponentId(apartment), ())
        return frozenset(ApartmentId(home) for home in near)

    def document(self) -> dict[str, Any]:
        """The building file of this plant as a JSON document; reading it gives this plant again."""
        return document_of(self)

    @cached_property
    def _apartments(self) -> Mapping[ApartmentId, Apartment]:
        return {apartment.id: apartment for apartment in self.apartments}

    @cached_property
    def _loops(self) -> Mapping[ComponentId, Loop]:
        return {loop.id: loop for loop in self.loops}

    @cached_property
    def _sources(self) -> Mapping[ComponentId, HeatSource]:
        return {source.id: source for source in self.heat_sources}

    @cached_property
    def _transformers(self) -> Mapping[ComponentId, Transformer]:
        return {transformer.id: transformer for transformer in self.transformers}

    @cached_property
    def _highest(self) -> Mapping[ComponentId, int]:
        floors: dict[ComponentId, int] = {}
        for home in self.apartments:
            head = self.head_of(home.loop)
            floors[head] = max(home.floor, floors.get(head, home.floor))
        return floors

    @cached_property
    def _run_by_home(self) -> Mapping[ApartmentId, Run]:
        return {home: run for run in self.runs for home in run.homes}

    @cached_property
    def _cascade_by_source(self) -> Mapping[ComponentId, Cascade]:
        return {source.id: each for each in self.cascades for source in each.sources}

    @cached_property
    def _riser_by_home(self) -> Mapping[ApartmentId, Riser]:
        return {home: riser for riser in self.risers for home in riser.homes}

    @cached_property
    def _graphs(self) -> dict[Graph, Edges]:
        return {}

    def _edges(self, graph: Graph) -> Edges:
        if graph not in self._graphs:
            self._graphs[graph] = edges_of(self, graph)
        return self._graphs[graph]

    @cached_property
    def _callers(self) -> Edges:
        return reversed_edges(self._edges(Graph.DEMAND))


def _found(among: Mapping[Key, Value], key: Key) -> Value:
    try:
        return among[key]
    except KeyError:
        raise UnknownComponent(key) from None
