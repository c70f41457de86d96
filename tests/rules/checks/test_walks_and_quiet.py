"""Where a technician begins, and what is not asked for because it takes too long to set up."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from rules.checks import order_checks
from rules.checks.measurements import measurements
from rules.checks.places import place_of
from rules.diagnosis import Diagnosis, diagnose
from rules.model import (
    ApartmentId,
    ComponentId,
    Evidence,
    HourlyWeather,
    Household,
    Kind,
    Reported,
    RoomRead,
)
from rules.plant import Plant
from tests.houses import a_home, a_house, a_loop, a_valve, built

NOW = datetime(2027, 1, 14, 23, 0, tzinfo=UTC)


def house() -> Plant:
    """Six homes on one loop, each with a valve of the slow kind."""
    homes = [a_home(f, line, valve=a_valve(kind="heat_motor")) for f in (1, 2, 3) for line in "AB"]
    return built(a_house(homes, [a_loop()]))


def told(kind: Kind, *homes: str) -> Diagnosis:
    """These homes say the same within an hour, on a cold evening."""
    evidence = [
        Evidence(
            f"m{n}", NOW - timedelta(minutes=60 - n), Reported(ApartmentId(h), frozenset({kind}))
        )
        for n, h in enumerate(homes)
    ]
    if kind is Kind.TOO_HOT:
        evidence.append(Evidence("r", NOW, RoomRead(ApartmentId(homes[0]), 84.0, 68.0)))
    plant = house()
    people = [Household(ApartmentId(a.id)) for a in plant.apartments]
    return diagnose(plant, evidence, people, [HourlyWeather(NOW, 20.0)], NOW)


@pytest.mark.parametrize("kind", [Kind.TOO_HOT, Kind.TOO_COLD])
def test_one_homes_trouble_is_looked_at_in_that_home_first(kind: Kind) -> None:
    """Common practice, no source: settings, lever and volts at its valve before the boiler room."""
    diagnosis = told(kind, "2B")
    first, second, *_ = order_checks(diagnosis, diagnosis.groups[0])

    assert (first.place, second.place) == ("apartment", "apartment")


def test_what_several_homes_share_is_looked_at_in_the_boiler_room_first() -> None:
    """Common practice, no source: the boiler room before apartments where the fault may be shared."""
    diagnosis = told(Kind.TOO_COLD, "1A", "2A", "2B", "3B")
    places = [step.place for step in order_checks(diagnosis, diagnosis.groups[0])]

    assert places[:3] == ["boiler_room"] * 3


def test_a_part_of_several_homes_is_read_without_a_call_only_after_it_was_made_quiet() -> None:
    """At 20 F out some home nearly always calls; at a home's own valve its thermostat says when."""
    diagnosis = told(Kind.TOO_HOT, "2B")
    group = diagnosis.groups[0]
    made = list(measurements(diagnosis, group.apartments, group.suspects))
    quiet = {m.key for m in made if m.in_quiet}

    assert quiet
    assert {place_of(diagnosis.plant, ComponentId(at)) for _, at in quiet} == {"boiler_room"}
    for key in quiet:
        with_a_call, in_quiet = (m for m in made if m.key == key)
        assert (with_a_call.in_quiet, in_quiet.in_quiet) == (False, True)
        assert all(r.calling for rows in with_a_call.expected for r in rows)


def test_the_coil_is_not_where_one_hot_home_begins() -> None:
    """Its volts without a call say that some valve is open, once five other homes are quiet."""
    diagnosis = told(Kind.TOO_HOT, "2B")

    assert "coil_volts" not in [
        str(step.check) for step in order_checks(diagnosis, diagnosis.groups[0])[:3]
    ]
