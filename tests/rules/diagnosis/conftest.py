"""A twelve-apartment house with two loops, made up, for tests of the diagnosis."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from rules.model import (
    ApartmentId,
    Evidence,
    HourlyWeather,
    Household,
    Kind,
    Noise,
    Reported,
)
from rules.plant import read_building_document

NOW = datetime(2027, 1, 14, 23, 0, tzinfo=UTC)


def house(floors: int = 4, lines: str = "ABC", loops: int = 2) -> dict:
    """A building document: floors are shared out over loops from the bottom."""
    return {
        "schema": 1,
        "building": "elm-4",
        "name": "4 Elm Street",
        "timezone": "America/New_York",
        "construction": "masonry",
        "heat_sources": [
            {
                "id": "boiler-1",
                "kind": "hot_water_boiler",
                "control": "fixed",
                "hot_water": "indirect_priority",
                "installed": "2012-08",
            }
        ],
        "transformers": [
            {"id": f"xf-{n}", "va": 100, "installed": "2012-08"} for n in range(1, loops + 1)
        ],
        "loops": [
            {
                "id": f"loop-{n}",
                "source": "boiler-1",
                "circulator": {"id": f"pump-{n}", "installed": "2017-10"},
                "relay": {"id": f"relay-{n}", "transformer": f"xf-{n}", "installed": "2012-08"},
            }
            for n in range(1, loops + 1)
        ],
        "apartments": [
            {
                "id": f"{floor}{line}",
                "floor": floor,
                "line": line,
                "emitter": "fin_tube",
                "loop": f"loop-{(floor - 1) * loops // floors + 1}",
                "zoning": "zone_valve",
                "valve": {
                    "kind": "motor_4wire",
                    "transformer": f"xf-{(floor - 1) * loops // floors + 1}",
                    "va": 7.0,
                    "installed": "2016-03",
                },
                "thermostat": {"kind": "battery", "installed": "2016-11"},
            }
            for floor in range(1, floors + 1)
            for line in lines
        ],
    }


@pytest.fixture(scope="session")
def plant():
    """The house as a plant."""
    made, problems = read_building_document(house())
    assert made is not None, problems
    return made


@pytest.fixture(scope="session")
def households(plant):
    """Every home can write."""
    return [Household(a.id) for a in plant.apartments]


def weather(outdoor_f: float = 22.0) -> list[HourlyWeather]:
    """Two days of steady weather around now."""
    return [HourlyWeather(NOW + timedelta(hours=h), outdoor_f) for h in range(-24, 25)]


def report(
    apartment: str, *kinds: str, hours_ago: float = 0.0, noise: Noise | None = None
) -> Evidence:
    """One household's complaint."""
    return Evidence(
        f"m_{apartment}",
        NOW - timedelta(hours=hours_ago),
        Reported(ApartmentId(apartment), frozenset(Kind(k) for k in kinds), noise),
    )
