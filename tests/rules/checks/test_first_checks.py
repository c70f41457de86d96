"""What is measured where nothing points anywhere yet, or only one thing is suspected."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from rules.checks import MOSTLY_UNKNOWN, checks_between, order_checks
from rules.checks.first import first_checks, first_rows
from rules.diagnosis import Diagnosis, diagnose
from rules.faults.catalogue import checks, faults
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
from tests.houses import a_bare_home, a_boiler, a_home, a_house, a_loop, built

NOW = datetime(2027, 1, 14, 23, 0, tzinfo=UTC)
# Common practice, no source: what a heating technician looks at first in a cold home.
BEGINS_WITH = ["gauge_tp", "sec_volts", "motor_volts", "pipe_temps", "emitter_temps"]


def house(kind: str = "hot_water_boiler", *, valves: bool = True) -> Plant:
    """Two homes on one loop; of steam without valves, thermostats and 24 V."""
    source = a_boiler(kind=kind, hot_water="indirect")
    if valves:
        return built(a_house([a_home(1, "A"), a_home(2, "A")], [a_loop()], sources=[source]))
    homes = [a_bare_home(floor, "A", thermostat={"kind": "none"}) for floor in (1, 2)]
    return built(a_house(homes, [a_loop(transformer=None)], sources=[source], transformers=()))


def told(plant: Plant, kind: Kind, *found: Found) -> Diagnosis:
    """One home says one thing, the other is silent; what has been measured since."""
    report = Reported(ApartmentId("1A"), frozenset({kind}))
    evidence = [Evidence("m", NOW - timedelta(hours=3), report)]
    evidence += [Evidence(f"f{n}", NOW, each) for n, each in enumerate(found)]
    people = [Household(ApartmentId(a.id)) for a in plant.apartments]
    return diagnose(plant, evidence, people, [HourlyWeather(NOW, 25.0)], NOW)


def listed(diagnosis: Diagnosis) -> list[str]:
    """The first checks of the only group."""
    return [str(step.check) for step in first_checks(diagnosis, diagnosis.groups[0])]


def test_a_cold_home_begins_at_gauge_power_valve_pipe_and_emitter() -> None:
    """In the order of the trade, each with what it rules in or out."""
    diagnosis = told(house(), Kind.TOO_COLD)

    assert listed(diagnosis)[:5] == BEGINS_WITH
    for step in first_checks(diagnosis, diagnosis.groups[0]):
        assert len(step.tells.split("; ")) >= 2


def test_what_the_house_does_not_have_is_left_out() -> None:
    """No 24 V, no valve: no volts there; steam has its own gauge and glass."""
    steam = listed(told(house("steam_boiler", valves=False), Kind.TOO_COLD))

    assert {"steam_gauge", "glass_look"} <= set(steam)
    assert not {"gauge_tp", "sec_volts", "motor_volts", "pipe_temps"} & set(steam)


def test_what_was_measured_is_not_begun_with_again() -> None:
    """The gauge was read: the next stands first."""
    read = Found(CheckId("gauge_tp"), ComponentId("boiler-1"), 18.0, "psi")

    assert listed(told(house(), Kind.TOO_COLD, read))[0] == "sec_volts"


@pytest.mark.parametrize("kind", list(Kind))
@pytest.mark.parametrize("source", ["hot_water_boiler", "steam_boiler"])
def test_whatever_is_reported_there_is_something_to_measure(kind: Kind, source: str) -> None:
    """Above all where something else holds most of it."""
    diagnosis = told(house(source, valves=source != "steam_boiler"), kind)
    (group,) = diagnosis.groups

    steps = order_checks(diagnosis, group)
    assert steps
    bare = order_checks(diagnosis, replace(group, suspects=()))
    begun_with = [s.check for s in first_checks(diagnosis, group)]
    if kind in {Kind.ELECTRICAL, Kind.SMOKE}:  # a draft is measured with the burner on
        begun_with = [check for check in begun_with if check != "draft_vent"]
    assert [s.check for s in bare] == begun_with[:7]
    assert bare


def test_known_suspects_keep_the_list_short() -> None:
    """Where something else holds less than half nothing is added to what tells suspects apart."""
    valve = ComponentId("1A.valve")
    powered = Found(CheckId("motor_volts"), valve, 26.0, "V", calling=True)
    winding = Found(CheckId("motor_ohms"), valve, 1e7, "ohm")
    diagnosis = told(house(), Kind.TOO_COLD, powered, winding)
    (group,) = diagnosis.groups

    assert group.unknown <= MOSTLY_UNKNOWN
    telling = {r.check for s in group.suspects for r in faults()[s.fault].checks}
    assert {s.check for s in order_checks(diagnosis, group)} <= telling


def test_one_suspect_alone_is_worth_a_check() -> None:
    """It may be something else: a check that would show it stands on the list."""
    diagnosis = told(house(), Kind.TOO_COLD)
    (group,) = diagnosis.groups
    alone = group.suspects[:1]

    assert checks_between(diagnosis, group, alone) == ()
    steps = order_checks(diagnosis, replace(group, suspects=alone))
    shown = {r.check for r in faults()[alone[0].fault].checks}
    assert steps[0].check in shown


def test_every_kind_of_complaint_has_something_to_begin_with() -> None:
    """And every row stands for a check that is known and says at least two things."""
    rows = first_rows()

    assert {kind for row in rows for kind in row.about} == set(Kind)
    assert len({row.check for row in rows}) == len(rows)
    for row in rows:
        assert row.check in checks()
        assert len(row.tells) >= 2
