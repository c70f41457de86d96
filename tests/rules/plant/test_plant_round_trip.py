"""A plant written as a document and read again is the same plant."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from rules.model import ApartmentId, BuildingId, ComponentId
from rules.plant import (
    Apartment,
    Circulator,
    Graph,
    HeatSource,
    Loop,
    Plant,
    Relay,
    Thermostat,
    Transformer,
    Valve,
    read_building_document,
    read_building_yaml,
)
from rules.plant.vocabulary import (
    CONSTRUCTIONS,
    CONTROLS,
    EMITTERS,
    HOT_WATERS,
    PIPINGS,
    SOURCE_KINDS,
    THERMOSTAT_KINDS,
    VALVE_KINDS,
    ZONINGS,
    heat_rule_ids,
)

DAYS = st.none() | st.dates(date(1850, 1, 1), date(2100, 12, 31))
WORDS = st.text("abcXYZ 0189.-/#é", min_size=1, max_size=20).map(str.strip).filter(bool)


@st.composite
def plants(draw: st.DrawFn) -> Plant:
    """Buildings with any mix of sources, loops, zonings and parts."""
    names = draw(st.lists(WORDS, min_size=36, max_size=36, unique=True))

    def name() -> ComponentId:
        return ComponentId(f"{names.pop()}{len(names)}x"[:40])

    transformers = tuple(
        Transformer(name(), draw(st.none() | st.floats(1, 1_000)), draw(DAYS))
        for _ in range(draw(st.integers(0, 2)))
    )
    fed = st.sampled_from([None, *(each.id for each in transformers)])
    water = SOURCE_KINDS[:2]
    staged = draw(st.booleans())
    sources = [_source(draw, name(), None, water if staged else SOURCE_KINDS, staged=staged)]
    if staged:
        sources.append(_source(draw, name(), None, water, staged=True))
    loops = [_loop(draw, name, sources[0].id, fed)]
    if draw(st.booleans()):
        sources.append(_source(draw, name(), draw(st.sampled_from([None, loops[0].id]))))
        loops.append(_loop(draw, name, sources[-1].id, fed))
    homes = tuple(_home(draw, name, loops, fed) for _ in range(draw(st.integers(1, 4))))
    homes = tuple(_with_own_pump(draw, name, home, homes, loops) for home in homes)
    loops = [_as_header(draw, loop, homes) for loop in loops]
    return Plant(
        id=BuildingId(draw(st.text("abz09-", min_size=1, max_size=12)) + "-b"),
        name=draw(WORDS),
        timezone=draw(st.sampled_from(["America/New_York", "Europe/Berlin", "UTC"])),
        heat_rule=draw(st.none() | st.sampled_from(sorted(heat_rule_ids()))),
        weather_station=draw(st.none() | st.text("aB1._-", min_size=1, max_size=40)),
        built=draw(st.none() | st.integers(1600, 2100)),
        construction=draw(st.sampled_from(CONSTRUCTIONS)),
        time_constant_hours=draw(st.floats(1, 1_000)),
        design_outdoor_f=draw(st.floats(-80, 80)),
        heat_sources=tuple(sources),
        transformers=transformers,
        loops=tuple(loops),
        apartments=homes,
    )


def _source(
    draw: st.DrawFn,
    name: ComponentId,
    fed_by: ComponentId | None,
    kinds: Sequence[str] = SOURCE_KINDS,
    *,
    staged: bool = False,
) -> HeatSource:
    return HeatSource(
        name,
        draw(st.sampled_from(kinds)),
        draw(st.none() | st.floats(1_000, 1e8)),
        draw(st.sampled_from(CONTROLS)),
        draw(st.sampled_from(HOT_WATERS)),
        draw(DAYS),
        fed_by,
        ComponentId("A cascade") if staged else None,
    )


def _loop(draw: st.DrawFn, name, source: ComponentId, fed) -> Loop:
    relay = Relay(name(), draw(fed), draw(DAYS)) if draw(st.booleans()) else None
    piping = draw(st.none() | st.sampled_from(PIPINGS))
    return Loop(name(), source, Circulator(name(), draw(DAYS)), relay, piping)


def _home(draw: st.DrawFn, name, loops: list[Loop], fed) -> Apartment:
    zoning = draw(st.sampled_from(ZONINGS))
    valve = thermostat = None
    if zoning == "zone_valve":
        va = draw(st.none() | st.floats(0.1, 200))
        valve = Valve(name(), draw(st.sampled_from(VALVE_KINDS)), draw(fed), va, draw(DAYS))
    if zoning in {"zone_valve", "zone_circulator"} or draw(st.booleans()):
        thermostat = Thermostat(name(), draw(st.sampled_from(THERMOSTAT_KINDS)), draw(DAYS))
    return Apartment(
        id=ApartmentId(name()),
        floor=draw(st.integers(-9, 200)),
        line=draw(WORDS),
        emitter=draw(st.sampled_from(EMITTERS)),
        loop=draw(st.sampled_from(loops)).id,
        zoning=zoning,
        valve=valve,
        thermostat=thermostat,
        position=draw(st.none() | st.integers(0, 2_000)),
    )


def _with_own_pump(
    draw: st.DrawFn, name, home: Apartment, homes: Sequence[Apartment], loops: Sequence[Loop]
) -> Apartment:
    """A pump that has no loop to itself is the home's own, and so is its relay on a panel."""
    shared = Counter(each.loop for each in homes)[home.loop] > 1
    if home.zoning != "zone_circulator" or not (shared or draw(st.booleans())):
        return home
    panel = next(loop.relay for loop in loops if loop.id == home.loop)
    relay = None if panel is None else replace(panel, id=name())
    return replace(home, circulator=Circulator(name(), draw(DAYS)), relay=relay)


def _as_header(draw: st.DrawFn, loop: Loop, homes: Sequence[Apartment]) -> Loop:
    """A loop whose homes all have their own pumps may have none."""
    own = [home.circulator is not None for home in homes if home.loop == loop.id]
    return replace(loop, circulator=None) if own and all(own) and draw(st.booleans()) else loop


@settings(deadline=None)
@given(plants())
def test_a_document_reads_back_as_the_same_plant(plant: Plant) -> None:
    """Through JSON, and through YAML in whatever style a program writes it."""
    document = plant.document()
    for read, problems in (
        read_building_document(json.loads(json.dumps(document))),
        read_building_yaml(yaml.safe_dump(document, allow_unicode=True)),
    ):
        assert not [problem for problem in problems if problem.fatal]
        assert read == plant
        assert read is not None
        assert read.document() == document


@settings(deadline=None)
@given(plants())
def test_graphs_of_any_plant_hang_together(plant: Plant) -> None:
    """The building stands above all homes, neighbours are mutual, pressure has no direction."""
    top = ComponentId(plant.id)
    homes = {apartment.id for apartment in plant.apartments}
    for graph in set(Graph) - {Graph.POWER}:
        assert plant.apartments_downstream(top, graph) == homes
    for home in homes:
        assert all(home in plant.neighbours(other) for other in plant.neighbours(home))
        water = plant.downstream(ComponentId(home), Graph.PRESSURE)
        assert all(home in plant.downstream(part, Graph.PRESSURE) for part in water)


@settings(deadline=None)
@given(plants())
def test_every_home_is_reached_by_one_source_at_the_top(plant: Plant) -> None:
    """Water comes to each home from exactly one source, or one cascade, that nothing feeds."""
    tops = {s.cascade or s.id for s in plant.heat_sources if s.fed_by is None}
    for apartment in plant.apartments:
        above = [top for top in tops if apartment.id in plant.downstream(top, Graph.WATER)]
        assert len(above) == 1


def test_the_document_keeps_the_order_of_the_promise(quarry: Plant) -> None:
    """Keys come in the order in which people write them; what is unknown is left out."""
    document = quarry.document()
    assert list(document)[:4] == ["schema", "building", "name", "timezone"]
    assert document["heat_sources"][0]["installed"] == "2012-08-01"
    assert "fed_by" not in document["heat_sources"][0]
