"""A handful of made-up houses, one for each way of heating one, for the vignettes."""

from __future__ import annotations

from functools import cache
from typing import Any

from rules.plant import Plant
from tests.houses import built

__all__ = ["house"]

SOURCE = {
    "id": "boiler-1",
    "kind": "hot_water_boiler",
    "control": "fixed",
    "hot_water": "indirect_priority",
    "installed": "2014-08",
}
RESET = {**SOURCE, "kind": "condensing_boiler", "control": "outdoor_reset", "hot_water": "indirect"}


def _loop(name: str = "1", *, transformer: str | None = "xf-1", **more: Any) -> dict[str, Any]:
    made: dict[str, Any] = {
        "id": f"loop-{name}",
        "source": "boiler-1",
        "circulator": {"id": f"pump-{name}", "installed": "2019-10"},
    }
    if transformer:
        made["relay"] = {
            "id": f"relay-{name}",
            "transformer": transformer,
            "installed": "2014-08",
        }
    return made | more


def _home(floor: int, line: str, **more: Any) -> dict[str, Any]:
    made = {
        "id": f"{floor}{line}",
        "floor": floor,
        "line": line,
        "emitter": "fin_tube",
        "loop": "loop-1",
        "zoning": "zone_valve",
    }
    return made | more


def _valve(
    kind: str, transformer: str = "xf-1", stat: str = "battery", **more: Any
) -> dict[str, Any]:
    return {
        "valve": {"kind": kind, "transformer": transformer, "installed": "2017-03", **more},
        "thermostat": {"kind": stat, "installed": "2017-11"},
    }


def _document(
    name: str,
    homes: list[dict[str, Any]],
    loops: list[dict[str, Any]],
    *sources: dict[str, Any],
    transformers: tuple[str, ...] = ("xf-1",),
    va: float = 100,
) -> dict[str, Any]:
    return {
        "schema": 1,
        "building": name,
        "name": name.capitalize(),
        "timezone": "America/New_York",
        "construction": "masonry",
        "heat_sources": list(sources) or [SOURCE],
        "transformers": [{"id": t, "va": va, "installed": "2014-08"} for t in transformers],
        "loops": loops,
        "apartments": homes,
    }


def _each(floors: int, lines: str) -> list[tuple[int, str]]:
    return [(floor, line) for floor in range(1, floors + 1) for line in lines]


def _valves(va: float = 100) -> dict[str, Any]:
    """Two floors on each of two loops, four-wire valves, hot water first."""
    homes = []
    for floor, line in _each(4, "ABC"):
        n = 1 if floor < 3 else 2
        homes.append(_home(floor, line, loop=f"loop-{n}", **_valve("motor_4wire", f"xf-{n}", va=7)))
    loops = [_loop("1"), _loop("2", transformer="xf-2")]
    return _document("valves", homes, loops, transformers=("xf-1", "xf-2"), va=va)


def _by_floor() -> dict[str, Any]:
    """A loop on every floor."""
    homes = [
        _home(f, x, loop=f"loop-{f}", **_valve("motor_4wire", f"xf-{f}"))
        for f, x in _each(3, "ABCD")
    ]
    loops = [_loop(str(f), transformer=f"xf-{f}", piping="floors") for f in (1, 2, 3)]
    return _document("by-floor", homes, loops, transformers=("xf-1", "xf-2", "xf-3"))


def _one_kind(
    name: str, kind: str, *, relay_on: str = "xf-1", va: float = 75, stat: str = "battery"
) -> dict[str, Any]:
    """Six homes on one loop, all with valves of one kind."""
    homes = [_home(f, x, **_valve(kind, stat=stat)) for f, x in _each(2, "ABC")]
    transformers = tuple(dict.fromkeys(("xf-1", relay_on)))
    return _document(name, homes, [_loop(transformer=relay_on)], transformers=transformers, va=va)


def _zone_pumps() -> dict[str, Any]:
    """Every home has a pump of its own on one relay panel."""
    homes = [
        _home(f, x, loop=f"loop-{f}{x}", zoning="zone_circulator", thermostat={"kind": "powered"})
        for f, x in _each(2, "ABC")
    ]
    loops = [_loop(f"{f}{x}") for f, x in _each(2, "ABC")]
    return _document("zone-pumps", homes, loops, {**SOURCE, "hot_water": "indirect"})


def _shared_header() -> dict[str, Any]:
    """Four homes on each of two headers, a pump and a relay of its own for each, one panel a header."""
    homes = [
        _home(f, x, loop=f"loop-{f}", zoning="zone_circulator", thermostat={"kind": "powered"})
        for f, x in _each(2, "ABCD")
    ]
    loops = [
        {
            "id": f"loop-{f}",
            "source": "boiler-1",
            "relay": {"id": f"panel-{f}", "transformer": f"xf-{f}", "installed": "2014-08"},
        }
        for f in (1, 2)
    ]
    source = {**SOURCE, "hot_water": "indirect"}
    return _document("shared-header", homes, loops, source, transformers=("xf-1", "xf-2"))


def _trv(name: str = "trv", *sources: dict[str, Any]) -> dict[str, Any]:
    """Radiator valves on risers, water by the weather, a pump that runs all season."""
    homes = [_home(f, x, zoning="trv", emitter="steel_panel") for f, x in _each(4, "ABC")]
    loops = [_loop(transformer=None, piping="risers")]
    return _document(name, homes, loops, *(sources or (RESET,)), transformers=())


def _uncontrolled() -> dict[str, Any]:
    """Iron radiators without any control, water by the weather."""
    homes = [_home(f, x, zoning="none", emitter="cast_iron") for f, x in _each(3, "ABC")]
    source = {**RESET, "kind": "hot_water_boiler"}
    return _document("uncontrolled", homes, [_loop(transformer=None)], source, transformers=())


def _risers() -> dict[str, Any]:
    """Zone valves on one loop that climbs five floors in four lines."""
    homes = [_home(f, x, **_valve("motor_4wire")) for f, x in _each(5, "ABCD")]
    return _document("risers", homes, [_loop(piping="risers")], va=200)


def _in_order(name: str, piping: str) -> dict[str, Any]:
    """Six homes one after the other along a loop without zones."""
    homes = [_home(1 + n // 3, "ABC"[n % 3], zoning="none", position=n + 1) for n in range(6)]
    source = {**RESET, "kind": "hot_water_boiler"}
    return _document(name, homes, [_loop(transformer=None, piping=piping)], source, transformers=())


def _cascade() -> dict[str, Any]:
    """Two boilers of one size on one header."""
    document = _valves()
    boilers = [
        {**RESET, "id": f"boiler-{n}", "cascade": "cascade-1", "output_btuh": 200_000}
        for n in (1, 2)
    ]
    return document | {"building": "cascade", "name": "Cascade", "heat_sources": boilers}


def _steam() -> dict[str, Any]:
    """One-pipe steam on risers."""
    homes = [_home(f, x, zoning="none", emitter="cast_iron") for f, x in _each(4, "ABC")]
    source = {"id": "boiler-1", "kind": "steam_boiler", "control": "fixed", "hot_water": "separate"}
    loops = [_loop(transformer=None, piping="risers")]
    return _document("steam", homes, loops, source, transformers=())


_DISTRICT = {
    "id": "boiler-1",
    "kind": "district_station",
    "control": "outdoor_reset",
    "hot_water": "indirect",
}
_HOUSES = {
    "valves": _valves,
    "valves_on_40_va": lambda: {**_valves(40), "building": "valves-on-40-va"},
    "by_floor": _by_floor,
    "three_wire": lambda: _one_kind("three-wire", "motor_3wire"),
    "two_wire": lambda: _one_kind("two-wire", "motor_2wire", stat="powered"),
    "heat_motors": lambda: _one_kind("heat-motors", "heat_motor"),
    "normally_open": lambda: _one_kind("normally-open", "normally_open", relay_on="xf-2"),
    "zone_pumps": _zone_pumps,
    "shared_header": _shared_header,
    "trv": _trv,
    "uncontrolled": _uncontrolled,
    "risers": _risers,
    "series": lambda: _in_order("series", "series"),
    "direct_return": lambda: _in_order("direct-return", "direct_return"),
    "cascade": _cascade,
    "district": lambda: _trv("district", _DISTRICT),
    "steam": _steam,
}


@cache
def house(name: str) -> Plant:
    """The house of this name as a plant."""
    return built(_HOUSES[name]())
