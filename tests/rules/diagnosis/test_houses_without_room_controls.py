"""Houses without room controls whose water has one temperature (common practice, no source)."""

from __future__ import annotations

import pytest
from conftest import NOW, report, weather

from rules.diagnosis import Group, diagnose
from rules.model import Household, Kind
from tests.houses import a_bare_home, a_boiler, a_house, a_loop, built, places


def group_of(kind: Kind, outdoor_f: float, *homes: str) -> Group:
    """The ticket of some homes that complain alike."""
    bare = [a_bare_home(floor, line) for floor, line in places(5, "ABCD")]
    plant = built(a_house(bare, [a_loop()], sources=[a_boiler(control="fixed")]))
    evidence = [report(home, kind, hours_ago=5 - n) for n, home in enumerate(homes)]
    people = [Household(a.id) for a in plant.apartments]
    return diagnose(plant, evidence, people, weather(outdoor_f), NOW).groups[0]


@pytest.mark.parametrize(("outdoor_f", "kind"), [(50.0, Kind.TOO_HOT), (15.0, Kind.TOO_COLD)])
def test_many_homes_alike_are_the_boiler(outdoor_f: float, kind: Kind) -> None:
    """Whoever sets water or hours by hand goes by the weather: else all would always be hot."""
    group = group_of(kind, outdoor_f, "1A", "3C", "5D")

    assert set(group.apartments) == {"1A", "3C", "5D"}
    assert group.suspects[0].component == "boiler-1"
    assert group.unknown < 0.5


def test_one_hot_home_in_mild_weather_is_not_what_was_to_be_expected() -> None:
    """Its sun, its neighbours, the corridor: what a technician looks for there has a name."""
    group = group_of(Kind.TOO_HOT, 50.0, "3C")

    assert group.unknown < 0.5
    assert {"solar_gain", "corridor_heat"} <= {s.fault for s in group.suspects}
