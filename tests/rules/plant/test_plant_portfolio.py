"""The demo portfolio that comes with the project."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest

from rules.model import BuildingId, ComponentId
from rules.plant import Graph, HouseholdRow, Plant, read_building_yaml, read_households_csv

PORTFOLIO = Path(__file__).parents[3] / "fixtures" / "portfolio"


@pytest.fixture(scope="module")
def portfolio() -> dict[BuildingId, Plant]:
    """All building files, each of which must be taken without a word."""
    found = {}
    for path in sorted(PORTFOLIO.glob("*.yaml")):
        plant, problems = read_building_yaml(path.read_text(encoding="utf-8"))
        assert plant is not None, problems
        assert problems == ()
        assert plant.id == path.stem
        found[plant.id] = plant
    return found


@pytest.fixture(scope="module")
def households(portfolio: dict[BuildingId, Plant]) -> tuple[HouseholdRow, ...]:
    """The people of the portfolio."""
    text = (PORTFOLIO / "households.csv").read_text(encoding="utf-8")
    rows, problems = read_households_csv(text, portfolio)
    assert problems == ()
    return rows


def test_three_buildings_of_different_kind(portfolio: dict[BuildingId, Plant]) -> None:
    """Small, middle and large; zone valves, heat motors and pumps of one's own; two heat laws."""
    sizes = sorted(len(plant.apartments) for plant in portfolio.values())
    assert sizes == [6, 12, 24]
    homes = [home for plant in portfolio.values() for home in plant.apartments]
    assert {home.zoning for home in homes} == {"zone_valve", "zone_circulator"}
    assert Counter(home.valve.kind for home in homes if home.valve) == {
        "motor_4wire": 24,
        "heat_motor": 12,
    }
    assert {plant.heat_rule for plant in portfolio.values()} == {"us-ny-nyc", "us-ma"}


def test_a_transformer_group_cuts_across_loops(portfolio: dict[BuildingId, Plant]) -> None:
    """In the middle building a lost transformer and a lost loop leave different homes cold."""
    plant = portfolio[BuildingId("alder-14")]
    line = plant.apartments_downstream(ComponentId("xf-1"), Graph.POWER)
    floors = plant.apartments_downstream(ComponentId("loop-low"), Graph.WATER)
    assert line == {"1A", "2A", "3A", "4A", "5A", "6A"}
    assert line & floors == {"1A", "2A", "3A"}


def test_households_are_as_mixed_as_people_are(
    portfolio: dict[BuildingId, Plant], households: tuple[HouseholdRow, ...]
) -> None:
    """Two languages, a number for two homes, homes of two people, and homes of nobody on file."""
    assert {row.language for row in households} == {"en", "es"}
    homes = Counter((row.building, row.apartment) for row in households)
    assert max(homes.values()) == 2
    assert sum(len(plant.apartments) for plant in portfolio.values()) - len(homes) == 3
    numbers = Counter(row.mobile for row in households if row.mobile)
    assert [count for count in numbers.values() if count > 1] == [2]
    assert sum(bool(row.care) for row in households) >= 10


def test_no_number_or_domain_can_belong_to_anybody(households: tuple[HouseholdRow, ...]) -> None:
    """Numbers 555-0100 to 0199 and the top-level domain example are set aside for fiction."""
    for row in households:
        assert row.mobile is None or re.fullmatch(r"\+1212555 ?01\d\d", row.mobile)
        assert row.email is None or row.email.endswith(".example")
