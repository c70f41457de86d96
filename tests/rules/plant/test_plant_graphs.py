"""What depends on what. Facts of the trade are common practice, no source."""

from __future__ import annotations

import pytest

from rules.model import ApartmentId, ComponentId
from rules.plant import ComponentKind, Graph, Plant, UnknownComponent
from tests.houses import built


def downstream(plant: Plant, component: str, graph: Graph) -> set[str]:
    return set(plant.downstream(ComponentId(component), graph))


def homes(plant: Plant, component: str, graph: Graph) -> set[str]:
    return set(plant.apartments_downstream(ComponentId(component), graph))


@pytest.mark.parametrize(
    ("component", "expected"),
    [
        ("two-loops", {"1A", "1B", "2A", "2B"}),
        ("boiler", {"1A", "1B", "2A", "2B"}),
        ("low", {"1A", "1B"}),
        ("high.circulator", {"2A", "2B"}),
        ("1A.valve", {"1A"}),
        ("2B", {"2B"}),
        ("xf-left", set()),
        ("low.relay", set()),
    ],
)
def test_water_reaches_the_homes_below(
    two_loops: Plant, component: str, expected: set[str]
) -> None:
    """Hot water comes from the source by way of the loop, the pump and the valve to the home."""
    assert homes(two_loops, component, Graph.WATER) == expected


def test_water_passes_the_valve_where_there_is_one(two_loops: Plant) -> None:
    """A home with radiator valves hangs on the pump directly."""
    assert downstream(two_loops, "high", Graph.WATER) == {
        "high.circulator",
        "2A.valve",
        "2A",
        "2B",
    }


def test_a_transformer_feeds_across_loops(two_loops: Plant) -> None:
    """A 24 V group is its valves, its relays and the thermostats that are not on batteries."""
    assert downstream(two_loops, "xf-left", Graph.POWER) == {"1A.valve", "2A.valve", "low.relay"}
    assert downstream(two_loops, "xf-right", Graph.POWER) == {
        "1B.valve",
        "1B.thermostat",
        "high.relay",
    }
    assert homes(two_loops, "xf-left", Graph.POWER) == {"1A", "2A"}
    assert downstream(two_loops, "low.relay", Graph.POWER) == set()


@pytest.mark.parametrize("valve", ["1A.valve", "2A.valve"])
def test_any_end_switch_reaches_its_loops_relay(two_loops: Plant, valve: str) -> None:
    """The end switches of a loop are parallel: one that closes starts relay, pump and source."""
    loop = "low" if valve.startswith("1") else "high"
    called = {f"{loop}.relay", f"{loop}.circulator", "boiler"}
    assert downstream(two_loops, valve, Graph.DEMAND) == called


def test_a_call_goes_from_the_thermostat_through_the_valve(two_loops: Plant) -> None:
    """What a thermostat's call reaches is its valve, the relay, the pump and the source."""
    reached = {"1A.valve", "low.relay", "low.circulator", "boiler"}
    assert downstream(two_loops, "1A.thermostat", Graph.DEMAND) == reached


def test_a_two_wire_valve_makes_no_call(two_loops: Plant) -> None:
    """Without an end switch the panel calls for the thermostat, whatever the valve does."""
    assert downstream(two_loops, "1B.valve", Graph.DEMAND) == set()
    assert "low.relay" in downstream(two_loops, "1B.thermostat", Graph.DEMAND)


@pytest.mark.parametrize(
    ("component", "expected"),
    [
        ("low.relay", {"1A", "1B"}),
        ("high.relay", {"2A"}),
        ("boiler", {"1A", "1B", "2A"}),
        ("1A.thermostat", {"1A"}),
        ("two-loops", {"1A", "1B", "2A", "2B"}),
    ],
)
def test_a_lost_call_is_felt_by_those_who_make_it(
    two_loops: Plant, component: str, expected: set[str]
) -> None:
    """A part of the call chain matters to the homes whose call passes it."""
    assert homes(two_loops, component, Graph.DEMAND) == expected


def test_pressure_is_felt_in_the_whole_body_of_water(two_loops: Plant) -> None:
    """A leak in one home drains every home on the same boiler, but no 24 V part."""
    assert homes(two_loops, "1A", Graph.PRESSURE) == {"1A", "1B", "2A", "2B"}
    assert "low.relay" not in downstream(two_loops, "boiler", Graph.PRESSURE)
    assert downstream(two_loops, "1A.thermostat", Graph.PRESSURE) == set()


def test_neighbours_share_a_wall_or_a_floor(two_loops: Plant) -> None:
    """The home beside and the home above are neighbours, the one diagonally above is not."""
    assert two_loops.neighbours(ApartmentId("1A")) == {"1B", "2A"}
    assert downstream(two_loops, "1A", Graph.NEIGHBOURS) == {"1B", "2A"}
    assert downstream(two_loops, "boiler", Graph.NEIGHBOURS) == set()


def with_places(quarry: Plant, *places: tuple[int, str]) -> Plant:
    """A plant whose homes lie at the places given, called floor and line."""
    document = quarry.document()
    pattern = {**document["apartments"][0]}
    del pattern["valve"], pattern["thermostat"]
    document["apartments"] = [
        {**pattern, "id": f"{floor}-{line}", "floor": floor, "line": line, "zoning": "trv"}
        for floor, line in places
    ]
    return built(document)


def test_lines_are_adjacent_in_counting_order(quarry: Plant) -> None:
    """Line 9 lies between 8 and 10, and a line missing on one floor leaves a gap there."""
    plant = with_places(quarry, (1, "10"), (1, "9"), (1, "8"), (2, "10"), (2, "8"))
    assert plant.neighbours(ApartmentId("1-9")) == {"1-8", "1-10"}
    assert plant.neighbours(ApartmentId("2-8")) == {"1-8"}


def test_a_loop_without_relay_passes_the_call_on(quarry: Plant) -> None:
    """Where no relay stands between, the end switch starts pump and source itself."""
    document = quarry.document()
    del document["loops"][0]["relay"]
    plant = built(document)
    assert downstream(plant, "1A.valve", Graph.DEMAND) == {"pump-1", "boiler-1"}
    assert downstream(plant, "xf-1", Graph.POWER) == {"1A.valve"}


def test_a_home_with_its_own_pump_has_no_valve_in_the_call(quarry: Plant) -> None:
    """The thermostat reaches the pump's relay; a powered one is fed by what feeds that relay."""
    document = quarry.document()
    home = document["apartments"][0]
    del home["valve"]
    home |= {"zoning": "zone_circulator", "thermostat": {"kind": "powered"}}
    plant = built(document)
    reached = {"relay-1", "pump-1", "boiler-1"}
    assert downstream(plant, "1A.thermostat", Graph.DEMAND) == reached
    assert downstream(plant, "xf-1", Graph.POWER) == {"relay-1", "1A.thermostat"}


def test_a_home_without_thermostat_makes_no_call(quarry: Plant) -> None:
    """A thermostat of kind none is no thermostat."""
    document = quarry.document()
    document["apartments"][0]["thermostat"] = {"kind": "none"}
    plant = built(document)
    assert homes(plant, "relay-1", Graph.DEMAND) == set()


def test_an_exchanger_carries_heat_but_not_pressure(two_loops: Plant) -> None:
    """A station fed by a loop lies below it in water and demand, in a body of water of its own."""
    document = two_loops.document()
    station = {"id": "station", "kind": "district_station", "fed_by": "low"}
    document["heat_sources"].append({**station, "control": "outdoor_reset", "hot_water": "none"})
    document["loops"][1]["source"] = "station"
    plant = built(document)
    assert homes(plant, "low", Graph.WATER) == {"1A", "1B", "2A", "2B"}
    assert homes(plant, "station", Graph.WATER) == {"2A", "2B"}
    assert "boiler" in downstream(plant, "2A.thermostat", Graph.DEMAND)
    assert homes(plant, "1A", Graph.PRESSURE) == {"1A", "1B"}
    assert homes(plant, "2B", Graph.PRESSURE) == {"2A", "2B"}
    assert homes(plant, "two-loops", Graph.PRESSURE) == {"1A", "1B", "2A", "2B"}


@pytest.mark.parametrize("graph", list(Graph))
def test_nothing_is_downstream_of_itself(two_loops: Plant, graph: Graph) -> None:
    """Every component of every kind can be asked about in every graph."""
    document = two_loops.document()
    more = [{**home, "id": f"3{home['line']}", "floor": 3} for home in document["apartments"][2:]]
    for home in more:
        home.pop("valve", None)
        home.pop("thermostat", None)
        home["zoning"] = "trv"
    document["apartments"] += more
    document["loops"][1]["piping"] = "risers"
    document["heat_sources"][0]["cascade"] = "header"
    document["heat_sources"].append({**document["heat_sources"][0], "id": "boiler-2"})
    plant = built(document)
    assert {each.kind for each in plant.components.values()} == set(ComponentKind)
    for component in plant.components:
        assert component not in plant.downstream(component, graph)


def test_components_know_their_home_and_loop(two_loops: Plant) -> None:
    """A part inside a home carries the home's and the loop's id."""
    valve = two_loops.component(ComponentId("1A.valve"))
    assert (valve.kind, valve.apartment, valve.loop) == (ComponentKind.VALVE, "1A", "low")
    relay = two_loops.component(ComponentId("high.relay"))
    assert (relay.apartment, relay.loop) == (None, "high")


def test_looking_up_by_kind(two_loops: Plant) -> None:
    """Each kind of record is found by its id."""
    assert two_loops.apartment(ApartmentId("2B")).emitter == "cast_iron"
    assert two_loops.loop(ComponentId("low")).source == "boiler"
    assert two_loops.source(ComponentId("boiler")).kind == "hot_water_boiler"
    assert two_loops.transformer(ComponentId("xf-left")).va == 100


@pytest.mark.parametrize("graph", list(Graph))
def test_a_strange_id_is_told(two_loops: Plant, graph: Graph) -> None:
    """Asking about what the plant does not have is an error of the asker, not an empty answer."""
    with pytest.raises(UnknownComponent):
        two_loops.downstream(ComponentId("boiler-9"), graph)
    with pytest.raises(UnknownComponent):
        two_loops.apartment(ApartmentId("low"))
    with pytest.raises(UnknownComponent):
        two_loops.neighbours(ApartmentId("low"))
