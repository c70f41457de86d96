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
from tests.houses import a_boiler, a_home, a_house, a_loop, a_valve, built, places

NOW = datetime(2027, 1, 14, 23, 0, tzinfo=UTC)


def house(floors: int = 4, lines: str = "ABC", loops: int = 2) -> dict:
    """A building document: floors are shared out over loops from the bottom."""

    def homes():
        for floor, line in places(floors, lines):
            n = (floor - 1) * loops // floors + 1
            valve = a_valve(f"xf-{n}", va=7.0, installed="2016-03")
            stat = {"kind": "battery", "installed": "2016-11"}
            yield a_home(floor, line, on=n, valve=valve, thermostat=stat)

    on = "2012-08"
    made = a_house(
        homes(),
        [
            a_loop(
                n,
                circulator={"id": f"pump-{n}", "installed": "2017-10"},
                relay={"id": f"relay-{n}", "transformer": f"xf-{n}", "installed": on},
            )
            for n in range(1, loops + 1)
        ],
        sources=[a_boiler(hot_water="indirect_priority", installed=on)],
        transformers=(),
        building="elm-4",
        name="4 Elm Street",
    )
    made["transformers"] = [
        {"id": f"xf-{n}", "va": 100, "installed": on} for n in range(1, loops + 1)
    ]
    return made


@pytest.fixture(scope="session")
def plant():
    """The house as a plant."""
    return built(house())


@pytest.fixture(scope="session")
def households(plant):
    """Every home can write."""
    return [Household(a.id) for a in plant.apartments]


def weather(outdoor_f: float = 22.0, now: datetime = NOW) -> list[HourlyWeather]:
    """Two days of steady weather around now."""
    return [HourlyWeather(now + timedelta(hours=h), outdoor_f) for h in range(-24, 25)]


def report(
    apartment: str, *kinds: str, hours_ago: float = 0.0, noise: Noise | None = None
) -> Evidence:
    """One household's complaint."""
    return Evidence(
        f"m_{apartment}",
        NOW - timedelta(hours=hours_ago),
        Reported(ApartmentId(apartment), frozenset(Kind(k) for k in kinds), noise),
    )
