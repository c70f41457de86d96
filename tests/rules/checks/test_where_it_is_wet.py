"""A leak's ticket begins where it is wet; what is seen there says whose water it is.

Common practice, no source: electricity first, then where, hot or cold, clean or rusty, before any gauge.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import pytest

from rules.checks import order_checks
from rules.checks.worksheet import worksheet
from rules.diagnosis import Diagnosis, diagnose
from rules.faults.catalogue import checks, faults
from rules.faults.telling import is_listed
from rules.model import (
    ApartmentId,
    CheckId,
    ComponentId,
    Evidence,
    Found,
    HourlyWeather,
    Household,
    Kind,
    Reported,
)
from rules.plant import Plant
from tests.houses import a_boiler, a_home, a_house, a_loop, built, places

NOW = datetime(2027, 1, 14, 23, 0, tzinfo=UTC)
WET = CheckId("wet_look")


@pytest.fixture(scope="module")
def plant() -> Plant:
    """Six homes with zone valves on one loop and one boiler."""
    homes = [a_home(*at) for at in places(3, "AB")]
    return built(a_house(homes, [a_loop()], sources=[a_boiler()]))


def told(
    plant: Plant, kinds: Sequence[Kind], *found: str, homes: Sequence[str] = ("1A",)
) -> Diagnosis:
    """Homes say so; what a look where it is wet has shown in the first of them since."""
    evidence = [
        Evidence(
            f"m{home}", NOW - timedelta(hours=3), Reported(ApartmentId(home), frozenset(kinds))
        )
        for home in homes
    ]
    evidence += [
        Evidence(f"f{n}", NOW, Found(WET, ComponentId(homes[0]), outcome=word))
        for n, word in enumerate(found)
    ]
    people = [Household(ApartmentId(a.id)) for a in plant.apartments]
    return diagnose(plant, evidence, people, [HourlyWeather(NOW, 25.0)], NOW)


def test_a_leak_begins_where_it_is_wet_and_with_electricity(plant: Plant) -> None:
    """In the home that reports it, before the boiler's gauge; water and power are the first danger."""
    diagnosis = told(plant, [Kind.LEAK])
    first, *others = order_checks(diagnosis, diagnosis.groups[0])

    assert (first.check, first.component, first.place) == (WET, "1A", "apartment")
    assert first.caution.lower().startswith("electricity")
    for danger in ("scald", "ceiling", "pressure"):
        assert danger in first.caution.lower()
    assert {"relief_look", "gauge_tp"} & {step.check for step in others}


def test_of_several_wet_homes_the_topmost_comes_first(plant: Plant) -> None:
    """Water runs down: three homes of one line on one ticket are looked at from above."""
    diagnosis = told(plant, [Kind.LEAK], homes=("1A", "2A", "3A"))
    group = next(g for g in diagnosis.groups if "3A" in g.apartments)

    assert len(group.apartments) > 1
    assert order_checks(diagnosis, group)[0].component == "3A"


def test_cold_and_wet_begins_there_too(plant: Plant) -> None:
    """Whatever else the home complains of."""
    diagnosis = told(plant, [Kind.LEAK, Kind.TOO_COLD])

    assert order_checks(diagnosis, diagnosis.groups[0])[0].check == WET


def test_where_nobody_saw_water_nobody_looks_for_it(plant: Plant) -> None:
    """A cold home may lack water that leaks somewhere: that is looked for by pressure."""
    diagnosis = told(plant, [Kind.TOO_COLD])

    steps = order_checks(diagnosis, diagnosis.groups[0])
    assert WET not in {step.check for step in steps}
    sheet = worksheet(diagnosis, diagnosis.groups[0].apartments)
    assert WET not in {check["check"] for check in sheet["checks"]}


def test_the_phone_takes_it_along(plant: Plant) -> None:
    """With what every place would mean, and before all else."""
    diagnosis = told(plant, [Kind.LEAK])

    sheet = worksheet(diagnosis, diagnosis.groups[0].apartments)

    assert f"{WET} 1A" in sheet["before_all"]
    assert WET in {check["check"] for check in sheet["checks"]}


@pytest.mark.parametrize(
    ("word", "fault"),
    [
        ("at_radiator", "emitter_leak"),
        ("at_valve", "valve_body_leak"),
        ("at_pipe_or_joint", "system_leak"),
        ("at_air_vent", "air_vent_failed"),
        ("at_pump", "pump_leak"),
        ("at_boiler", "heat_exchanger_leak"),
    ],
)
def test_a_place_names_what_leaks(plant: Plant, word: str, fault: str) -> None:
    """Who has seen it drip there knows it; before, nothing was likelier than one in four."""
    before, after = (told(plant, [Kind.LEAK], *seen).groups[0] for seen in ((), (word,)))

    assert before.suspects[0].probability < 0.25
    assert after.suspects[0].fault == fault
    assert after.suspects[0].probability > 0.5


def test_a_wet_relief_pipe_is_tank_fill_valve_or_itself(plant: Plant) -> None:
    """Three faults end there; a gauge and the tank's pin tell them apart."""
    diagnosis = told(plant, [Kind.LEAK], "at_relief_pipe")
    (group,) = diagnosis.groups

    at_boiler = {s.fault: s.probability for s in group.suspects if s.component == "boiler-1"}
    assert set(at_boiler) == {"tank_waterlogged", "relief_weeping", "fill_overfeeding"}
    assert sum(at_boiler.values()) > 0.7
    following = {step.check for step in order_checks(diagnosis, group)}
    assert WET not in following
    assert {"gauge_tp", "tank_pin", "fill_check"} & following


def test_other_peoples_water_is_nothing_of_the_heating(plant: Plant) -> None:
    """Clean, cold and with the tap above: what no row describes is then likelier than all of them."""
    before, after = (
        told(plant, [Kind.LEAK], *seen).groups[0] for seen in ((), ("no_heating_water",))
    )

    assert after.unknown > before.unknown
    assert after.unknown > 0.8


def test_every_fault_that_is_seen_as_a_leak_says_where() -> None:
    """No row that a household tells as a leak is left out, and each place is somebody's."""
    seen = [row for row in faults().values() if row.reports.leak > 0]
    words = {r.outcome for row in seen for r in row.checks if r.check == WET}

    assert [row.id for row in seen if not any(r.check == WET for r in row.checks)] == []
    assert words == set(checks()[WET].outcomes)


def test_it_has_no_name_outside() -> None:
    """The trade's list of tests does not have it: a program that knows only those is not told."""
    assert not is_listed(WET)
    assert is_listed("relief_look")
