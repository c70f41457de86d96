"""Random buildings as an owner would write them down: plant, loops, apartments, dates known or not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from numpy.random import Generator

__all__ = ["Json", "Plant", "random_plant"]

Json = dict[str, Any]
# style: weight, kinds of source, zonings
_STYLES: Mapping[str, tuple[float, tuple[str, ...], tuple[str, ...]]] = {
    "zone_valves": (
        0.46,
        ("hot_water_boiler", "hot_water_boiler", "condensing_boiler"),
        ("zone_valve",),
    ),
    "zone_pumps": (0.12, ("hot_water_boiler", "condensing_boiler"), ("zone_circulator",)),
    "trv": (0.12, ("condensing_boiler", "hot_water_boiler"), ("trv",)),
    "free_running": (0.08, ("hot_water_boiler", "condensing_boiler"), ("none",)),
    "district": (0.14, ("district_station",), ("zone_valve", "trv")),
    "steam": (0.08, ("steam_boiler",), ("none",)),
}
_VALVES = {
    "motor_4wire": 0.5,
    "motor_3wire": 0.08,
    "motor_2wire": 0.12,
    "heat_motor": 0.14,
    "wax": 0.08,
    "normally_open": 0.08,
}
_EMITTERS = {"fin_tube": 0.5, "steel_panel": 0.2, "cast_iron": 0.22, "radiant_floor": 0.08}
_BUILT_OF = {"masonry": 0.6, "light_frame": 0.25, "insulated_masonry": 0.15}
_HOT_WATER = ("none", "indirect", "indirect_priority", "separate")
_FEWEST, _MOST = 6, 48
_LETTERS = "ABCDEFGH"


@dataclass
class Plant:
    """What stands in the cellar and the homes; ``file`` is what the owner sends.

    ``homes`` are apartment ids; ``floor``, ``line``, ``loop`` (a number) and ``transformer`` (a number,
    -1 for none) go along with them; ``relay_transformer`` goes with ``loops``.
    """

    style: str
    zoning: str
    source_kind: str
    valve_kind: str
    emitter: str
    hot_water: str
    follows_weather: bool
    screen_on_24v: bool
    loops: list[str] = field(default_factory=list)
    transformers: list[str] = field(default_factory=list)
    relay_transformer: list[int] = field(default_factory=list)
    homes: list[str] = field(default_factory=list)
    floor: list[int] = field(default_factory=list)
    line: list[str] = field(default_factory=list)
    loop: list[int] = field(default_factory=list)
    transformer: list[int] = field(default_factory=list)
    file: Json = field(default_factory=dict)
    source: str = "plant-1"

    @property
    def zoned(self) -> bool:
        """Whether thermostats open valves or start pumps."""
        return self.zoning in ("zone_valve", "zone_circulator")

    def powered_by(self, home: int) -> tuple[int, int]:
        """Transformers of a home's own parts and of its loop's relay."""
        return self.transformer[home], self.relay_transformer[self.loop[home]]


class _Dates:
    """When parts were put in, as far as the owner knows."""

    def __init__(self, rng: Generator) -> None:
        self._rng = rng
        self.known = bool(rng.random() < 0.6)
        self._age = int(rng.integers(1, 25))

    def any(self) -> Json:
        rng = self._rng
        if not self.known or rng.random() < 0.25:
            return {}
        year = 2024 - max(0, self._age + int(rng.integers(-6, 7)))
        return {"installed": f"{year}-{int(rng.integers(1, 13)):02d}"}


def random_plant(rng: Generator, number: int) -> Plant:
    """One building of 6 to 48 apartments with its file."""
    style = _one_of(rng, {name: row[0] for name, row in _STYLES.items()})
    _, sources, zonings = _STYLES[style]
    source_kind, zoning = str(rng.choice(sources)), str(rng.choice(zonings))
    always_resets = style in ("trv", "free_running") or source_kind != "hot_water_boiler"
    plant = Plant(
        style=style,
        zoning=zoning,
        source_kind=source_kind,
        valve_kind=_one_of(rng, _VALVES),
        emitter="cast_iron" if style == "steam" else _one_of(rng, _EMITTERS),
        hot_water=str(rng.choice(_HOT_WATER)),
        follows_weather=always_resets or bool(rng.random() < 0.15),
        screen_on_24v=bool(rng.random() < 0.35),
    )
    _lay_out(rng, plant)
    _write_down(rng, plant, number)
    return plant


def _lay_out(rng: Generator, plant: Plant) -> None:
    """Floors, lines, loops and what powers whom."""
    floors = wide = 0
    while not _FEWEST <= floors * wide <= _MOST:
        floors, wide = int(rng.integers(2, 7)), int(rng.integers(2, 9))
    by_floor = plant.style != "steam" and floors <= 4 and bool(rng.random() < 0.7)
    loops = floors if by_floor else 1 if plant.style == "steam" else 2
    shape = str(rng.choice(["one", "per_loop", "across"], p=[0.35, 0.45, 0.2]))
    count = {"one": 1, "per_loop": loops, "across": 2}[shape] if plant.zoned else 0
    plant.loops = [f"loop-{n + 1}" for n in range(loops)]
    plant.transformers = [f"xf-{n + 1}" for n in range(count)]
    plant.relay_transformer = [
        -1 if not count else n if shape == "per_loop" else 0 for n in range(loops)
    ]
    for floor in range(1, floors + 1):
        for place in range(wide):
            loop = floor - 1 if by_floor else place * loops // wide
            power = {"one": 0, "per_loop": loop, "across": place % 2}[shape] if count else -1
            plant.homes.append(f"{floor}{_LETTERS[place]}")
            plant.floor.append(floor)
            plant.line.append(_LETTERS[place])
            plant.loop.append(loop)
            plant.transformer.append(power)


def _write_down(rng: Generator, plant: Plant, number: int) -> None:
    dates = _Dates(rng)
    plant.file = {
        "schema": 1,
        "building": f"outside-{number}",
        "name": f"{number} Stranger Street",
        "timezone": "America/New_York",
        "heat_rule": "us-ny-nyc",
        "weather_station": f"sky-{number}",
        "construction": _one_of(rng, _BUILT_OF),
        "design_outdoor_f": 13,
        "heat_sources": [
            {
                "id": plant.source,
                "kind": plant.source_kind,
                "control": "outdoor_reset" if plant.follows_weather else "fixed",
                "hot_water": plant.hot_water,
                **dates.any(),
            }
        ],
        "transformers": [
            _transformer(plant, n) | dates.any() for n in range(len(plant.transformers))
        ],
        "loops": [_loop(rng, plant, n, dates) for n in range(len(plant.loops))],
        "apartments": [_apartment(plant, n, dates) for n in range(len(plant.homes))],
    }
    if dates.known:
        plant.file["built"] = int(rng.integers(1905, 1995))


def _transformer(plant: Plant, n: int) -> Json:
    each = 20 if plant.valve_kind == "heat_motor" else 7
    return {
        "id": plant.transformers[n],
        "va": float(max(40, plant.transformer.count(n) * each + 20 + 5 * len(plant.loops))),
    }


def _loop(rng: Generator, plant: Plant, n: int, dates: _Dates) -> Json:
    name = plant.loops[n]
    row: Json = {"id": name, "source": plant.source}
    if plant.style != "steam":
        row["circulator"] = {"id": f"{name}.circulator", **dates.any()}
    if plant.zoned and rng.random() < 0.9:
        power = plant.transformers[plant.relay_transformer[n]]
        row["relay"] = {"id": f"{name}.relay", "transformer": power, **dates.any()}
    return row


def _apartment(plant: Plant, n: int, dates: _Dates) -> Json:
    row: Json = {
        "id": plant.homes[n],
        "floor": plant.floor[n],
        "line": plant.line[n],
        "emitter": plant.emitter,
        "loop": plant.loops[plant.loop[n]],
        "zoning": plant.zoning,
        "thermostat": {"kind": "none"},
    }
    if plant.zoned:
        kind = "powered" if plant.screen_on_24v else "battery"
        row["thermostat"] = {"kind": kind, **dates.any()}
    if plant.zoning == "zone_valve":
        power = plant.transformers[plant.transformer[n]]
        row["valve"] = {"kind": plant.valve_kind, "transformer": power, **dates.any()}
    return row


def _one_of(rng: Generator, weights: Mapping[str, float]) -> str:
    shares = list(weights.values())
    return str(rng.choice(list(weights), p=[w / sum(shares) for w in shares]))
