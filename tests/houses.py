"""Made-up houses for tests, put together from parts: boilers, loops, homes, the file that holds them.

Every part takes further keys of a building file, which replace its own. Tests that judge the service
from outside (``tests/contract``, ``tests/outside``) write their buildings themselves.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from rules.plant import Plant, read_building_document

__all__ = ["a_bare_home", "a_boiler", "a_home", "a_house", "a_loop", "a_valve", "built", "places"]

JSON = dict[str, Any]


def built(given: JSON) -> Plant:
    """The plant of a document, which must not be refused."""
    plant, problems = read_building_document(given)
    assert plant is not None, problems
    return plant


def a_house(
    homes: Iterable[JSON],
    loops: Iterable[JSON],
    *,
    sources: Sequence[JSON] = (),
    transformers: Iterable[str] = ("xf-1",),
    va: float = 100,
    **more: Any,
) -> JSON:
    """A building; without sources it has one boiler."""
    return {
        "schema": 1,
        "building": "oak-2",
        "name": "2 Oak Street",
        "timezone": "America/New_York",
        "construction": "masonry",
        "heat_sources": list(sources) or [a_boiler()],
        "transformers": [{"id": name, "va": va} for name in transformers],
        "loops": list(loops),
        "apartments": list(homes),
    } | more


def a_boiler(n: int = 1, **more: Any) -> JSON:
    """A boiler with fixed water that heats no taps."""
    made = {"id": f"boiler-{n}", "kind": "hot_water_boiler", "control": "fixed"}
    return made | {"hot_water": "none"} | more


def a_loop(n: int = 1, transformer: str | None = "xf-1", **more: Any) -> JSON:
    """A loop with its circulator, and with its relay unless no transformer is to feed one."""
    made: JSON = {"id": f"loop-{n}", "source": "boiler-1", "circulator": {"id": f"pump-{n}"}}
    if transformer is not None:
        made["relay"] = {"id": f"relay-{n}", "transformer": transformer}
    return made | more


def a_valve(transformer: str = "xf-1", **more: Any) -> JSON:
    """A four-wire zone valve."""
    return {"kind": "motor_4wire", "transformer": transformer} | more


def a_home(floor: int, line: str, on: int = 1, **more: Any) -> JSON:
    """A home on a loop, with a zone valve and a thermostat on batteries."""
    parts = {"zoning": "zone_valve", "valve": a_valve(), "thermostat": {"kind": "battery"}}
    return a_bare_home(floor, line, on, **(parts | more))


def a_bare_home(floor: int, line: str, on: int = 1, **more: Any) -> JSON:
    """A home on a loop that nothing controls."""
    made = {"id": f"{floor}{line}", "floor": floor, "line": line, "emitter": "fin_tube"}
    return made | {"loop": f"loop-{on}", "zoning": "none"} | more


def places(floors: int, lines: str) -> list[tuple[int, str]]:
    """Floor and line of every home, from the bottom."""
    return [(floor, line) for floor in range(1, floors + 1) for line in lines]
