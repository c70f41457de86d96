"""Random buildings of varied topology, as building files that the plant reader accepts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from rules.plant import Plant, read_building_document

__all__ = ["SERIES", "TOPOLOGIES", "Made", "random_building"]

TOPOLOGIES = {
    "four_wire": 0.45,
    "heat_motor": 0.2,
    "two_wire": 0.09,
    "normally_open": 0.07,
    "zone_circulator": 0.1,
    "trv": 0.09,
}
# Of all buildings, whatever the draw above says: one pipe through home after home without controls of
# their own; and, of larger ones, two or three boilers side by side (own guess).
SERIES, _SERIES_SHARE, _CASCADE_SHARE = "series", 0.08, 0.3
_CASCADE_FROM_HOMES = 9
_VALVE = {
    "four_wire": ("motor_4wire", 7.0),
    "heat_motor": ("heat_motor", 20.0),
    "two_wire": ("motor_2wire", 7.0),
    "normally_open": ("normally_open", 7.0),
}
_ZONING = {"zone_circulator": "zone_circulator", "trv": "trv", SERIES: "none"}
_WITHOUT_STATS = frozenset(["trv", SERIES])
_RATINGS_VA = (20, 40, 75, 100, 150, 200, 300, 500, 800)
# Floors and lines: small walk-ups are commoner than towers; 4 to 40 homes.
_SIZES = ((2, 2), (3, 2), (3, 3), (4, 2), (4, 3), (5, 2), (5, 3), (4, 4), (6, 4), (8, 3), (8, 5))
_SIZE_WEIGHTS = (0.06, 0.12, 0.12, 0.14, 0.16, 0.12, 0.1, 0.08, 0.05, 0.03, 0.02)


@dataclass(frozen=True)
class Made:
    """A building with the words that describe its kind in the report."""

    plant: Plant
    topology: str
    loops_by: str
    boilers: int

    @property
    def kind(self) -> str:
        """Topology, and whether boilers stand side by side."""
        return self.topology if self.boilers == 1 else f"{self.topology}, cascade"


def random_building(rng: np.random.Generator) -> Made:
    """One building, validated by the reader of building files.

    Raises:
        ValueError: the document made here was refused, which is a fault of this module.
    """
    names = list(TOPOLOGIES)
    topology = str(rng.choice(names, p=list(TOPOLOGIES.values())))
    # A generator of its own: what is rare leaves all other buildings as they would be without it.
    rare = rng.spawn(1)[0]
    if rare.random() < _SERIES_SHARE:
        topology = SERIES
    floors, lines = _SIZES[rng.choice(len(_SIZES), p=_SIZE_WEIGHTS)]
    if topology == "zone_circulator":
        floors, lines = min(floors, 4), min(lines, 3)
    loops_by = "home" if topology == "zone_circulator" else str(rng.choice(["floor", "riser"]))
    document = _document(rng, topology, loops_by, floors, lines)
    side_by_side = _side_by_side(rare, document)
    plant, problems = read_building_document(document)
    if plant is None:
        raise ValueError(f"building refused: {[p.detail for p in problems if p.fatal]}")
    return Made(plant, topology, loops_by, side_by_side)


def _document(
    rng: np.random.Generator, topology: str, loops_by: str, floors: int, lines: int
) -> dict[str, Any]:
    homes = [(floor, "ABCDE"[line]) for floor in range(1, floors + 1) for line in range(lines)]
    loop_of = _loops(rng, loops_by, homes, floors, lines)
    names = list(dict.fromkeys(loop_of.values()))
    apartments = _apartments(rng, topology, homes, loop_of)
    power = _power(rng, topology, apartments, names)
    source = _source(rng, topology)
    return {
        "schema": 1,
        "building": "made-up",
        "name": "A made-up building",
        "timezone": "America/New_York",
        "construction": str(rng.choice(["masonry", "light_frame"], p=[0.7, 0.3])),
        "design_outdoor_f": 13,
        "heat_sources": [source],
        "transformers": power.transformers,
        "loops": [
            {
                "id": name,
                "source": "boiler-1",
                "circulator": {"id": f"pump-{name}", "installed": _date(rng, 18)},
                **({"piping": "series"} if topology == SERIES else {}),
                **({"relay": power.relays[name]} if name in power.relays else {}),
            }
            for name in names
        ],
        "apartments": apartments,
    }


def _loops(
    rng: np.random.Generator, loops_by: str, homes: list[tuple[int, str]], floors: int, lines: int
) -> dict[tuple[int, str], str]:
    if loops_by == "home":
        return {(f, x): f"zone-{f}{x}" for f, x in homes}
    count = int(rng.integers(1, min(4, floors if loops_by == "floor" else lines) + 1))
    if loops_by == "floor":
        return {(f, x): f"loop-{(f - 1) * count // floors + 1}" for f, x in homes}
    return {(f, x): f"loop-{'ABCDE'.index(x) * count // lines + 1}" for f, x in homes}


def _apartments(
    rng: np.random.Generator,
    topology: str,
    homes: list[tuple[int, str]],
    loop_of: dict[tuple[int, str], str],
) -> list[dict[str, Any]]:
    stat = "battery" if rng.random() < 0.7 or topology == "normally_open" else "powered"
    emitter = str(rng.choice(["fin_tube", "steel_panel", "cast_iron"], p=[0.6, 0.2, 0.2]))
    if topology in _WITHOUT_STATS:
        emitter = str(rng.choice(["steel_panel", "cast_iron"]))
    made: list[dict[str, Any]] = []
    for floor, line in homes:
        home: dict[str, Any] = {
            "id": f"{floor}{line}",
            "floor": floor,
            "line": line,
            "emitter": emitter,
            "loop": loop_of[floor, line],
            "zoning": _ZONING.get(topology, "zone_valve"),
        }
        if topology in _VALVE:
            kind, va = _VALVE[topology]
            home["valve"] = {"kind": kind, "va": va, "installed": _date(rng, 22)}
        if topology not in _WITHOUT_STATS:
            home["thermostat"] = {"kind": stat, "installed": _date(rng, 20)}
        made.append(home)
    return made


@dataclass(frozen=True)
class _Power:
    transformers: list[dict[str, Any]]
    relays: dict[str, dict[str, Any]]


def _power(
    rng: np.random.Generator, topology: str, apartments: list[dict[str, Any]], loops: list[str]
) -> _Power:
    """Transformers by loop or by line; a rating that fits, sometimes barely."""
    if topology in _WITHOUT_STATS:
        return _Power([], {})
    by_line = topology != "zone_circulator" and rng.random() < 0.35
    load: dict[str, float] = {}
    for home in apartments:
        if "valve" not in home:
            continue
        name = f"xf-{home['line']}" if by_line else f"xf-{loops.index(home['loop']) + 1}"
        home["valve"]["transformer"] = name
        load[name] = load.get(name, 0.0) + float(home["valve"]["va"])
    names = list(load) or ["panel-xf"]
    relays: dict[str, dict[str, Any]] = {}
    for n, loop in enumerate(loops):
        power = names[n % len(names)]
        relays[loop] = {"id": f"relay-{loop}", "transformer": power, "installed": _date(rng, 20)}
        load[power] = load.get(power, 0.0) + 5.0
    spare = 1.3 if rng.random() < 0.85 else 1.0
    transformers = [
        {
            "id": name,
            "va": float(next((r for r in _RATINGS_VA if r >= load[name] * spare), 1000)),
            "installed": _date(rng, 25),
        }
        for name in load
    ]
    return _Power(transformers, relays)


def _source(rng: np.random.Generator, topology: str) -> dict[str, Any]:
    kinds = ["hot_water_boiler", "condensing_boiler", "district_station"]
    shares = [0.35, 0.3, 0.35] if topology in _WITHOUT_STATS else [0.72, 0.28, 0.0]
    kind = str(rng.choice(kinds, p=shares))
    reset = topology in _WITHOUT_STATS or kind != "hot_water_boiler" or rng.random() < 0.15
    hot_water = ["none", "indirect", "indirect_priority", "separate"]
    return {
        "id": "boiler-1",
        "kind": kind,
        "control": "outdoor_reset" if reset else "fixed",
        "hot_water": str(rng.choice(hot_water, p=[0.15, 0.25, 0.4, 0.2])),
        "installed": _date(rng, 30),
    }


def _side_by_side(rng: np.random.Generator, document: dict[str, Any]) -> int:
    """Perhaps make the boiler of a larger building two or three; how many there are."""
    (first,) = document["heat_sources"]
    large = len(document["apartments"]) >= _CASCADE_FROM_HOMES
    if not large or first["kind"] == "district_station" or rng.random() >= _CASCADE_SHARE:
        return 1
    count = int(rng.choice([2, 3], p=[0.7, 0.3]))
    document["heat_sources"] = [
        {**first, "id": f"boiler-{n}", "cascade": "boilers", "installed": _date(rng, 30)}
        for n in range(1, count + 1)
    ]
    return count


def _date(rng: np.random.Generator, oldest_years: int) -> str:
    months = int(rng.integers(12, oldest_years * 12))
    year, month = divmod(2026 * 12 + 9 - months, 12)
    return f"{year}-{month + 1:02d}"
