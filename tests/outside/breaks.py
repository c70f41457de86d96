"""What can break, as an outsider who read the domain's list of faults would model it.

A row of ``breaks.yaml`` names the fault and the components under which the service may speak of it, and
says what it does to the small world of ``world.py``: a pair is drawn from evenly. The effects are
coarser than the rules' and of another form on purpose.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import yaml
from numpy.random import Generator

from .plants import Plant

__all__ = ["Break", "draw_break"]

_MOTORS = ("motor_4wire", "motor_2wire", "motor_3wire")
_FITS: Mapping[str, Callable[[Plant], bool]] = {
    "zoned": lambda p: p.zoning in ("zone_valve", "zone_circulator"),
    "valved": lambda p: p.zoning == "zone_valve",
    "motor": lambda p: p.zoning == "zone_valve" and p.valve_kind in _MOTORS,
    "end_switch": lambda p: (
        p.zoning == "zone_valve" and p.valve_kind in ("motor_4wire", "heat_motor")
    ),
    "wax": lambda p: p.zoning == "zone_valve" and p.valve_kind in ("heat_motor", "wax"),
    "normally_open": lambda p: p.zoning == "zone_valve" and p.valve_kind == "normally_open",
    "battery": lambda p: not p.screen_on_24v,
    "zone_pump": lambda p: p.zoning == "zone_circulator",
    "trv": lambda p: p.zoning == "trv",
    "water": lambda p: p.source_kind != "steam_boiler",
    "loop_pump": lambda p: p.source_kind != "steam_boiler" and p.zoning != "zone_circulator",
    "loops": lambda p: len(p.loops) > 1,
    "steam": lambda p: p.source_kind == "steam_boiler",
    "boiler": lambda p: p.source_kind in ("hot_water_boiler", "condensing_boiler"),
    "burner": lambda p: p.source_kind != "district_station",
    "condensing": lambda p: p.source_kind == "condensing_boiler",
    "atmospheric": lambda p: p.source_kind == "hot_water_boiler",
    "district": lambda p: p.source_kind == "district_station",
    "reset": lambda p: p.follows_weather,
    "fixed": lambda p: not p.follows_weather,
    "priority": lambda p: p.hot_water == "indirect_priority",
    "indirect": lambda p: p.hot_water.startswith("indirect"),
}


@dataclass
class Break:
    """A fault that is there: which one, where, which homes it can reach, what it does.

    ``index`` is that of its home, loop or transformer; ``old`` ones were there days before.
    """

    fault: str
    place: str  # home | loop | transformer | source
    components: tuple[str, ...]
    homes: list[int]
    does: dict[str, Any]
    old: bool
    index: int
    part: str | None
    seen: Mapping[str, str]
    reads: Mapping[str, float]


@cache
def _rows() -> list[Mapping[str, Any]]:
    rows: list[Mapping[str, Any]] = yaml.safe_load(
        Path(__file__).with_suffix(".yaml").read_text(encoding="utf-8")
    )
    return rows


def draw_break(rng: Generator, plant: Plant, place: str) -> Break | None:
    """One fault of that place at a random component, by rate with an unknown factor; or None."""
    rows = [
        row
        for row in _rows()
        if row["place"] == place and all(_FITS[name](plant) for name in row.get("fits", []))
    ]
    if not rows or (place == "transformer" and not plant.transformers):
        return None
    weights = [row["rate"] * rng.lognormal(0.0, 0.5) for row in rows]
    row = rows[int(rng.choice(len(rows), p=[w / sum(weights) for w in weights]))]
    index, homes, names = _somewhere(rng, plant, place)
    if "top" in row["does"]:
        homes = [i for i in homes if plant.floor[i] == max(plant.floor)]
    if "far" in row["does"]:
        homes = homes[len(homes) // 2 :]
    drawn = {
        name: float(rng.uniform(*value)) if isinstance(value, list) else value
        for name, value in row["does"].items()
    }
    return Break(
        fault=row["fault"],
        place=place,
        components=tuple(part.format(**names) for part in row["at"]),
        homes=homes,
        does=drawn,
        old=row.get("old", False),
        index=index,
        part=row.get("part"),
        seen=row.get("seen", {}),
        reads=row.get("reads", {}),
    )


def _somewhere(
    rng: Generator, plant: Plant, place: str
) -> tuple[int, list[int], Mapping[str, str]]:
    """A component of that place: its number, the homes it reaches, names for the components."""
    everyone = list(range(len(plant.homes)))
    names = {"source": plant.source, "building": str(plant.file["building"])}
    if place == "source":
        return 0, everyone, names
    ids = {"home": plant.homes, "loop": plant.loops, "transformer": plant.transformers}[place]
    index = int(rng.integers(len(ids)))
    reached = {
        "home": lambda i: i == index,
        "loop": lambda i: plant.loop[i] == index,
        "transformer": lambda i: index in plant.powered_by(i),
    }[place]
    return index, [i for i in everyone if reached(i)], names | {place: ids[index]}
