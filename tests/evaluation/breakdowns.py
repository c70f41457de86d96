"""Which things break in a made-up building, how often, and what that does to the simulated world."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import yaml

from rules.model import ApartmentId, ComponentId, FaultId
from rules.plant import Apartment, Loop, Plant

from .weather import Days

__all__ = ["Breakdown", "Case", "breakdowns", "candidates", "draw_case", "place"]

# A standing defect is newly complained of about once in three years (own guess).
_STANDING_PER_YEAR = 0.3
_LOCAL = ("valve", "thermostat", "apartment")


@dataclass(frozen=True)
class Breakdown:
    """One row of ``breakdowns.yaml``."""

    id: FaultId
    at: str
    acts: Mapping[str, Any]
    parts: tuple[str, ...]
    reads: Mapping[str, Any]
    rate: float = 0.0
    standing: float = 0.0
    wear: tuple[float, float] | None = None
    season: float = 1.0
    share: float = 1.0
    group: str = "equipment"
    needs: Mapping[str, Any] = field(default_factory=dict)
    heard: Mapping[str, float] = field(default_factory=dict)
    when: str = "running"
    carries: str = "apartment"
    drips: float = 0.0
    shared: bool = False  # by all boilers of a cascade
    spreads: bool = False  # from one home to the others on its pipe
    start: str = "sudden_today"
    screen: Mapping[str, float] = field(default_factory=dict)
    mode: str = "heat"
    rooms: str = "all"
    block: float = 0.0
    window: str = "closed"
    time: str = "no_pattern"

    @property
    def is_local(self) -> bool:
        """Whether it sits in one home."""
        return self.at in _LOCAL

    @property
    def is_common(self) -> bool:
        """Whether several homes have it."""
        return not self.is_local or self.spreads


@dataclass(frozen=True)
class Case:
    """A breakdown of one component in one building, with its severity, from a step on."""

    row: Breakdown
    component: ComponentId
    home: ApartmentId | None
    amounts: Mapping[str, Any]
    step: int


@cache
def breakdowns() -> dict[FaultId, Breakdown]:
    """All rows by id."""
    text = (Path(__file__).parent / "breakdowns.yaml").read_text(encoding="utf-8")
    rows = {}
    for raw in yaml.safe_load(text):
        made = {**raw, "parts": tuple(raw["parts"]), "id": FaultId(raw["id"])}
        if "wear" in made:
            made["wear"] = tuple(made["wear"])
        rows[made["id"]] = Breakdown(**made)
    return rows


def candidates(plant: Plant, days: Days) -> list[tuple[float, Breakdown, ComponentId, str | None]]:
    """Everything that can break here now, with its rate per year."""
    found = []
    for row in breakdowns().values():
        for component, home, installed in _components(plant, row, days):
            yearly = row.rate / 100 + row.standing / 100 * _STANDING_PER_YEAR
            weight = yearly * row.share * _age(row, installed, days) * _season(row, days)
            found.append((weight, row, component, home))
    return found


def draw_case(
    rng: np.random.Generator, plant: Plant, days: Days, *, group: str, steps: tuple[int, int]
) -> Case:
    """One breakdown by its rate, at an even instant between two steps."""
    able = [c for c in candidates(plant, days) if c[1].group == group]
    weights = np.array([c[0] for c in able])
    _, row, component, home = able[rng.choice(len(able), p=weights / weights.sum())]
    amounts = {k: _drawn(rng, k, v) for k, v in row.acts.items()}
    step = int(rng.integers(*steps))
    if row.start == "always" or row.standing:
        step = 0
    return Case(row, component, ApartmentId(home) if home else None, amounts, step)


def place(row: Breakdown, home: Apartment) -> ComponentId | None:
    """Where in a home a local breakdown sits."""
    if row.at == "valve":
        return home.valve.id if home.valve else None
    if row.at == "thermostat":
        stat = home.thermostat
        return stat.id if stat is not None and stat.kind != "none" else None
    return ComponentId(home.id)


def _drawn(rng: np.random.Generator, name: str, value: Any) -> Any:
    """A severity: a range is drawn, a pair of clock hours is not a range."""
    if name == "off_hours" or not isinstance(value, list):
        return value
    return float(rng.uniform(*value))


def _components(
    plant: Plant, row: Breakdown, days: Days
) -> list[tuple[ComponentId, str | None, Any]]:
    if not _weather_fits(row, days):
        return []
    if row.is_local:
        return _in_homes(plant, row)
    source = plant.heat_sources[0]
    if not _source_fits(row, source) or not _any_home_fits(row, plant):
        return []
    if row.at == "transformer":
        return [(t.id, None, t.installed) for t in plant.transformers]
    if row.at == "source":
        return _of_source(plant, row)
    if row.at == "building":
        return [(ComponentId(plant.id), None, None)]
    risers = [(riser.id, None, None) for riser in plant.risers if row.at == "riser"]
    return risers + [part for loop in plant.loops for part in _of_loop(row, loop)]


def _of_source(plant: Plant, row: Breakdown) -> list[tuple[ComponentId, str | None, Any]]:
    """Each boiler, or what the boilers of a cascade have in common."""
    if row.shared and plant.cascades:
        return [(cascade.id, None, None) for cascade in plant.cascades]
    return [(source.id, None, source.installed) for source in plant.heat_sources]


def _of_loop(row: Breakdown, loop: Loop) -> list[tuple[ComponentId, str | None, Any]]:
    if row.at == "circulator":
        return [(loop.circulator.id, None, loop.circulator.installed)]
    if row.at == "loop":
        return [(loop.id, None, None)]
    return (
        []
        if loop.relay is None or row.at != "relay"
        else [(loop.relay.id, None, loop.relay.installed)]
    )


def _in_homes(plant: Plant, row: Breakdown) -> list[tuple[ComponentId, str | None, Any]]:
    found: list[tuple[ComponentId, str | None, Any]] = []
    if not _source_fits(row, plant.heat_sources[0]):
        return found
    for home in plant.apartments:
        component = place(row, home)
        if component is None or not _home_fits(row, home):
            continue
        found.append((component, home.id, plant.component(component).installed))
    return found


def _home_fits(row: Breakdown, home: Apartment) -> bool:
    has = {
        "valve": home.valve.kind if home.valve else None,
        "thermostat": home.thermostat.kind if home.thermostat else None,
        "emitter": home.emitter,
        "zoning": home.zoning,
    }
    return all(has[k] in row.needs[k] for k in has if k in row.needs)


def _any_home_fits(row: Breakdown, plant: Plant) -> bool:
    return any(_home_fits(row, home) for home in plant.apartments)


def _source_fits(row: Breakdown, source: Any) -> bool:
    has = {"source": source.kind, "control": source.control, "hot_water": source.hot_water}
    return all(has[k] in row.needs[k] for k in has if k in row.needs)


def _weather_fits(row: Breakdown, days: Days) -> bool:
    if row.needs.get("frost") and days.outdoor_f.min() > 25:
        return False
    return not (row.needs.get("autumn") and days.start.month != 10)


def _age(row: Breakdown, installed: Any, days: Days) -> float:
    """The hazard at this age against the stated one, which holds at 0.6 of the median life."""
    if row.wear is None or installed is None:
        return 1.0
    shape, median = row.wear
    years = max((days.start.date() - installed).days / 365.25, 0.1)
    return float(np.clip((years / (0.6 * median)) ** (shape - 1), 0.2, 5))


def _season(row: Breakdown, days: Days) -> float:
    return row.season if days.start.month == 10 else 1.0
