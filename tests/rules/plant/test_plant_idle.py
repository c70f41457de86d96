"""A file is taken, and what it leaves without use or without a start is told as a warning."""

from __future__ import annotations

from typing import Any

import pytest

from rules.plant import read_building_document, read_building_yaml
from tests.houses import a_bare_home, a_boiler, a_house

# Common practice, no source: valves and pumps that are called are started by a relay on 24 V; pumps
# before thermostatic radiator valves run through; steam has no pump.
ZONED = {"zoning": "zone_valve", "valve": {"kind": "motor_4wire", "transformer": "xf-1"}}


def house(
    at_home: dict[str, Any], *, relay: bool, kind: str = "hot_water_boiler", transformers: int = 1
) -> dict[str, Any]:
    """Two homes on one loop."""
    made = {"id": "loop-1", "source": "boiler-1"}
    if relay:
        made["relay"] = {"transformer": "xf-1"}
    homes = [a_bare_home(n, "A", **{"thermostat": {"kind": "battery"}, **at_home}) for n in (1, 2)]
    powers = [f"xf-{n + 1}" for n in range(transformers)]
    return a_house(homes, [made], sources=[a_boiler(kind=kind)], transformers=powers)


def warnings(given: dict[str, Any]) -> list[tuple[str, str]]:
    """Pointer and words of each; the file is taken."""
    plant, problems = read_building_document(given)
    assert plant is not None, problems
    assert not any(p.fatal for p in problems)
    return [(p.pointer, p.detail) for p in problems]


def test_a_whole_file_has_nothing_to_be_warned_of() -> None:
    """Valves and relay name the one transformer."""
    assert warnings(house(ZONED, relay=True)) == []


def test_a_transformer_that_nothing_names_is_told() -> None:
    """The second one feeds neither valve nor relay."""
    ((pointer, says),) = warnings(house(ZONED, relay=True, transformers=2))

    assert pointer == "/transformers/1/id"
    assert says == "No valve and no relay names transformer xf-2."


def test_a_loop_without_an_apartment_is_told() -> None:
    """Both homes are on the first loop; the second, with its relay, heats nobody."""
    given = house(ZONED, relay=True)
    given["loops"].append({**given["loops"][0], "id": "loop-2"})

    assert warnings(given) == [("/loops/1/id", "No apartment is on loop loop-2.")]


@pytest.mark.parametrize(
    "home", [ZONED, {"zoning": "zone_circulator"}], ids=["zone valves", "zone circulators"]
)
def test_a_loop_whose_homes_call_needs_a_relay(home: dict[str, Any]) -> None:
    """Nothing else starts its pump."""
    found = dict(warnings(house(home, relay=False, transformers=0 if "valve" not in home else 1)))

    assert found == {
        "/loops/0/relay": "Loop loop-1 has no relay, though 2 homes on it call for heat."
    }


@pytest.mark.parametrize(
    ("zoning", "kind"),
    [("trv", "hot_water_boiler"), ("none", "hot_water_boiler"), ("none", "steam_boiler")],
)
def test_where_nobody_calls_no_relay_is_missed(zoning: str, kind: str) -> None:
    """Thermostatic radiator valves, no control at all, steam."""
    home = {"zoning": zoning, "thermostat": {"kind": "none"}}

    assert warnings(house(home, relay=False, kind=kind, transformers=0)) == []


def test_in_a_file_the_line_is_told() -> None:
    """Owners jump to it in their editor."""
    text = (
        "schema: 1\nbuilding: oak-2\nname: 2 Oak Street\ntimezone: America/New_York\n"
        "construction: masonry\n"
        "heat_sources: [{id: b, kind: hot_water_boiler, control: fixed, hot_water: none}]\n"
        "transformers:\n  - {id: xf-9, va: 40}\n"
        "loops: [{id: loop-1, source: b}]\n"
        "apartments:\n  - {id: 1A, floor: 1, line: A, emitter: fin_tube, loop: loop-1, zoning: trv}\n"
    )

    plant, problems = read_building_yaml(text)

    assert plant is not None, problems
    assert [(p.line, p.fatal) for p in problems if "xf-9" in p.detail] == [(8, False)]
