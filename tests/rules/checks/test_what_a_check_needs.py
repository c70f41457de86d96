"""Readings that mean something only while something runs, and looks that come before a meter."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from rules.checks import LEAST_BITS, order_checks
from rules.checks.measurements import measurements
from rules.checks.telling import Told
from rules.diagnosis import Diagnosis, Group, Suspect, diagnose
from rules.diagnosis.measuring import chance
from rules.faults.catalogue import checks, faults
from rules.faults.needs import lacks
from rules.faults.rows import Check
from rules.model import (
    ApartmentId,
    CheckId,
    ComponentId,
    Evidence,
    FaultId,
    Found,
    HourlyWeather,
    Household,
    Kind,
    Reported,
)
from tests.houses import a_bare_home, a_boiler, a_home, a_house, a_loop, built

NOW = datetime(2027, 1, 14, 19, 0, tzinfo=UTC)
BOILER = ComponentId("boiler-1")
FLAME, MANOMETER, PROBE = CheckId("flame_signal"), CheckId("gas_pressure"), CheckId("room_probe")


def told(*found: Found, kind: str = "hot_water_boiler") -> Diagnosis:
    """Four cold homes of a house whose boiler also heats the taps."""
    source = a_boiler(kind=kind, hot_water="indirect" if kind != "steam_boiler" else "none")
    if kind == "steam_boiler":
        homes = [a_bare_home(f, "A", thermostat={"kind": "none"}) for f in (1, 2, 3, 4)]
        plant = built(a_house(homes, [a_loop(transformer=None)], sources=[source], transformers=()))
    else:
        homes = [a_home(f, "A") for f in (1, 2, 3, 4)]
        plant = built(a_house(homes, [a_loop()], sources=[source]))
    evidence = [
        Evidence(
            f"m{n}",
            NOW - timedelta(hours=4 - n),
            Reported(ApartmentId(a.id), frozenset({Kind.TOO_COLD})),
        )
        for n, a in enumerate(plant.apartments)
    ]
    evidence += [Evidence(f"f{n}", NOW, each) for n, each in enumerate(found)]
    people = [Household(ApartmentId(a.id)) for a in plant.apartments]
    return diagnose(plant, evidence, people, [HourlyWeather(NOW, 20.0)], NOW)


def between(diagnosis: Diagnosis, **chances: float) -> Group:
    """The ticket as if only these faults of the boiler, or of a home, were suspected."""
    (group, *_) = diagnosis.groups
    homes = tuple(a.id for a in diagnosis.plant.apartments)
    suspects = []
    for name, chance_of_it in chances.items():
        row = faults()[FaultId(name)]
        at = {"source": BOILER, "thermostat": ComponentId("1A.thermostat")}.get(row.at)
        reaches = homes if row.at == "source" else (ApartmentId("1A"),)
        component = at or ComponentId("1A")
        suspects.append(
            Suspect(row.id, row.says, component, chance_of_it, explains=reaches, reaches=reaches)
        )
    return replace(group, suspects=tuple(suspects))


def order(diagnosis: Diagnosis, **chances: float) -> list[str]:
    """Its checks in their order."""
    return [str(step.check) for step in order_checks(diagnosis, between(diagnosis, **chances))]


def flame_bits(diagnosis: Diagnosis, **chances: float) -> float:
    """What a meter on the flame would tell of these, with a tenth for something else."""
    group = between(diagnosis, **chances)
    made = measurements(diagnosis, group.apartments, group.suspects)
    flame = next((m for m in made if m.check.id == FLAME), None)
    if flame is None:  # nobody would think of it
        return 0.0
    weight = [0.9 * s.probability / sum(chances.values()) for s in group.suspects]
    return Told(np.array([*weight, 0.1])).bits(flame.chances)


NEEDY = [check for check in checks().values() if check.needs]


@pytest.mark.parametrize("check", NEEDY, ids=lambda check: check.id)
def test_what_keeps_the_burner_dark_leaves_nothing_to_read(check: Check) -> None:
    """A dead board lights no burner and heats no taps; a valve that sticks does neither harm."""
    dead = [r for r in faults()[FaultId("boiler_board_failed")].checks if r.check == check.id]
    stuck = [r for r in faults()[FaultId("valve_stuck_closed")].checks if r.lacking]

    assert dead
    assert all(row.lacking for row in dead)
    assert not stuck


def test_what_a_fault_takes_away_follows_from_what_it_changes() -> None:
    """Common practice, no source: no fuel, no flame; a boiler that nobody asks still heats a tank."""
    assert lacks(faults()[FaultId("gas_off")]) == {"fire", "hot_water"}
    assert lacks(faults()[FaultId("boiler_demand_open")]) == {"fire"}
    assert lacks(faults()[FaultId("dhw_none")]) == {"hot_water"}
    assert lacks(faults()[FaultId("pump_seized")]) == set()


def test_a_flame_that_is_not_there_has_no_current() -> None:
    """It is said in a word, or shown as nothing; whoever writes the usual 3 uA has not settled it."""
    dead = [r for r in faults()[FaultId("gas_off")].checks if r.check == FLAME]
    weak = [r for r in faults()[FaultId("boiler_lockout")].checks if r.check == FLAME]

    def noted(value: float | None, word: str | None = None) -> Found:
        return Found(FLAME, BOILER, value, "uA" if value is not None else None, outcome=word)

    assert chance(dead, noted(None, "no_flame")) == chance(dead, noted(0.0)) == pytest.approx(0.9)
    assert chance(weak, noted(0.6)) == pytest.approx(0.9)
    assert chance(dead, noted(0.6)) < 0.2
    assert chance(dead, noted(None, "no_flame")) > 5 * chance([], noted(None, "no_flame"))
    assert 5 < chance([], noted(3.0)) / chance(dead, noted(3.0)) < 15


def test_a_meter_on_the_flame_tells_nothing_of_faults_that_light_none() -> None:
    """It parts a burner that lights and drops out from one that has no gas, and no others."""
    diagnosis = told()
    dark = flame_bits(diagnosis, boiler_board_failed=0.7, boiler_switch_off=0.2, vent_blocked=0.1)
    lights = flame_bits(diagnosis, boiler_lockout=0.5, gas_off=0.5)

    assert dark < LEAST_BITS < lights
    blank = order(diagnosis, boiler_board_failed=0.7, boiler_switch_off=0.2, pilot_out=0.005)
    assert FLAME not in blank


def test_a_manometer_comes_after_display_and_call() -> None:
    """Common practice, no source: first whether anybody asks the boiler and what it says itself."""
    listed = order(told(), boiler_lockout=0.5, gas_off=0.3, boiler_demand_open=0.1)

    before = listed[: listed.index(MANOMETER)]
    assert {"display_codes", "demand_pair"} <= set(before)


def test_before_an_igniter_is_fitted_the_gas_is_measured() -> None:
    """A boiler locks out for want of gas as for want of a spark, and shows the same code."""
    lockout = Found(CheckId("display_codes"), BOILER, outcome="lockout")
    diagnosis = told(lockout)
    (group,) = diagnosis.groups

    assert group.suspects[0].fault == "boiler_lockout"
    assert MANOMETER in [step.check for step in order_checks(diagnosis, group)]


def test_a_look_that_tells_next_to_nothing_does_not_come_before_what_decides() -> None:
    """Wish or wrong thermostat: a thermometer beside it, twelve minutes, and not a minute's looks."""
    listed = order(
        told(), stat_reads_high=0.45, expectation_set_point=0.45, boiler_partial_capacity=0.01
    )

    assert listed[0] == PROBE


def test_steam_begins_with_the_glass() -> None:
    """Common practice, no source: is there water, then what pressure it makes, then the cutoff."""
    diagnosis = told(kind="steam_boiler")
    listed = order(diagnosis, steam_low_water=0.4, steam_pressure_high=0.3, boiler_lockout=0.2)

    for later in ("steam_gauge", "lwco_test"):
        if later in listed:
            assert listed.index("glass_look") < listed.index(later)
    assert "glass_look" in listed
