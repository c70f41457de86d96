"""Building files the tests of the plant start from."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rules.plant import Plant, Problem, read_building_yaml

EXAMPLE = """\
schema: 1
building: quarry-9            # id: a-z 0-9 and -
name: 9 Quarry Street
timezone: America/New_York
heat_rule: us-ny-nyc          # id of a heat-law row set
weather_station: kqry
built: 1931
construction: masonry         # masonry | light_frame | insulated_masonry | custom
time_constant_hours: 52       # optional, replaces the table value
design_outdoor_f: 13
heat_sources:
  - id: boiler-1
    kind: hot_water_boiler
    output_btuh: 270000
    control: fixed            # fixed | outdoor_reset
    hot_water: indirect_priority   # none | indirect | indirect_priority | separate
    installed: 2012-08
transformers:
  - {id: xf-1, va: 40, installed: 2012-08}
loops:                        # a circulator and what it feeds
  - id: loop-1
    source: boiler-1
    circulator: {id: pump-1, installed: 2019-10}
    relay: {id: relay-1, transformer: xf-1, installed: 2012-08}
apartments:
  - id: "1A"
    floor: 1
    line: A                   # same line on the next floor = neighbour above
    emitter: fin_tube         # fin_tube | steel_panel | cast_iron | radiant_floor
    loop: loop-1
    zoning: zone_valve        # zone_valve | zone_circulator | trv | none
    valve: {id: "1A.valve", kind: motor_4wire, transformer: xf-1, va: 7.0, installed: 2014-03}
    thermostat: {id: "1A.thermostat", kind: battery, installed: 2016-11}   # battery | powered
"""

TWO_LOOPS = """\
schema: 1
building: two-loops
name: Two loops
timezone: America/New_York
construction: light_frame
heat_sources:
  - {id: boiler, kind: hot_water_boiler, control: fixed, hot_water: none}
transformers:
  - {id: xf-left, va: 100}
  - {id: xf-right, va: 100}
loops:
  - {id: low, source: boiler, circulator: {}, relay: {transformer: xf-left}}
  - {id: high, source: boiler, circulator: {}, relay: {transformer: xf-right}}
apartments:
  - id: 1A
    floor: 1
    line: A
    emitter: fin_tube
    loop: low
    zoning: zone_valve
    valve: {kind: motor_4wire, transformer: xf-left}
    thermostat: {kind: battery}
  - id: 1B
    floor: 1
    line: B
    emitter: fin_tube
    loop: low
    zoning: zone_valve
    valve: {kind: motor_2wire, transformer: xf-right}
    thermostat: {kind: powered}
  - id: 2A
    floor: 2
    line: A
    emitter: fin_tube
    loop: high
    zoning: zone_valve
    valve: {kind: heat_motor, transformer: xf-left}
    thermostat: {kind: battery}
  - id: 2B
    floor: 2
    line: B
    emitter: cast_iron
    loop: high
    zoning: trv
"""


def taken(text: str) -> Plant:
    """The plant of a file that is expected to be taken without a word."""
    plant, problems = read_building_yaml(text)
    assert problems == ()
    assert plant is not None
    return plant


@pytest.fixture
def example() -> str:
    """The promised example of a building file."""
    return EXAMPLE


@pytest.fixture
def quarry() -> Plant:
    """The plant of the promised example."""
    return taken(EXAMPLE)


@pytest.fixture
def two_loops() -> Plant:
    """Four homes on two loops, with 24 V groups that cut across them."""
    return taken(TWO_LOOPS)


@pytest.fixture
def problems_of() -> Callable[[str], tuple[Problem, ...]]:
    """Reads a file that must be refused."""

    def read(text: str) -> tuple[Problem, ...]:
        plant, problems = read_building_yaml(text)
        assert plant is None
        assert problems
        return problems

    return read
