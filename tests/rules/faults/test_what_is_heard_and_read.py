"""What is heard, lit or measured under a fault where the row once took it for somebody's mistake.

Facts of the trade, common practice, no source, unless a line names one. Each reading here is one that
the fault brings along: it must not rule it out.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from rules.checks import order_checks
from rules.diagnosis import Diagnosis, diagnose
from rules.diagnosis.measuring import chance, speaks_for
from rules.faults.catalogue import checks, faults
from rules.model import (
    Answered,
    ApartmentId,
    CheckId,
    ComponentId,
    Evidence,
    Fact,
    FaultId,
    Found,
    HourlyWeather,
    Household,
    Kind,
    Noise,
    Reported,
    TopicId,
)
from rules.parts import load_list
from rules.plant import Plant
from tests.houses import a_bare_home, a_boiler, a_home, a_house, a_loop, a_valve, built, places

NOW = datetime(2027, 11, 20, 23, 0, tzinfo=UTC)
HEARD = CheckId("noise_timing")
RULED_OUT = 0.1  # one of three words that may all be found is noted a third of the time


def likelihood(
    fault: str, check: str, read: float | str, unit: str | None = None, calling: bool | None = None
) -> float:
    """Of a reading, under a fault."""
    word = read if isinstance(read, str) else None
    value = None if word else float(read)
    found = Found(CheckId(check), ComponentId("somewhere"), value, unit, calling, word)
    return chance(speaks_for(faults()[FaultId(fault)], found), found)


def told(plant: Plant, out_f: float, *facts: Fact) -> Diagnosis:
    """What homes report and answer, and what a technician has found since."""
    before = {Reported: timedelta(hours=20), Answered: timedelta(hours=19)}
    evidence = [
        Evidence(f"m{n}", NOW - before.get(type(fact), timedelta()), fact)
        for n, fact in enumerate(facts)
    ]
    people = [Household(a.id) for a in plant.apartments]
    return diagnose(plant, evidence, people, [HourlyWeather(NOW, out_f)], NOW)


def valves(kind: str = "motor_4wire") -> Plant:
    """Six homes with zone valves on one loop; its relay has a transformer of its own."""
    homes = [a_home(*at, valve=a_valve(kind=kind)) for at in places(2, "ABC")]
    loops = [a_loop(transformer="xf-2")]
    return built(a_house(homes, loops, transformers=("xf-1", "xf-2")))


def test_whoever_stands_by_a_noise_hears_something() -> None:
    """Every fault that homes are said to hear says when it is heard, and never "never"."""
    heard = [row for row in faults().values() if row.reports.noise]
    times = {row.id: {r.outcome for r in row.checks if r.check == HEARD} for row in heard}

    assert len(heard) > 30
    assert [fault for fault, words in times.items() if not words] == []
    assert [fault for fault, words in times.items() if "none_heard" in words] == []
    assert set().union(*times.values()) | {"none_heard"} == set(checks()[HEARD].outcomes)


@pytest.mark.parametrize(
    ("fault", "check", "read", "unit", "calling"),
    [
        # a pump that never stops is still a pump that is heard; its welded pole may be the one alone
        ("relay_contact_welded", "noise_timing", "with_pump", None, None),
        ("relay_contact_welded", "demand_pair", 25.0, "V", False),
        ("end_switch_stuck_closed", "noise_timing", "with_pump", None, None),
        ("pump_cavitation", "pump_feel", "grinding", None, None),
        ("pump_capacitor_failed", "noise_timing", "with_pump", None, None),
        # a cutoff opens the safety chain: the display shows that, a lock-out, or nothing
        ("lwco_trip", "display_codes", "limit_code", None, None),
        ("lwco_trip", "display_codes", "lockout", None, None),
        ("lwco_trip", "display_codes", "no_lockout", None, None),
        ("steam_low_water", "display_codes", "lockout", None, None),
        ("steam_low_water", "display_codes", "no_lockout", None, None),
        ("steam_low_water", "limit_chain", "low_water_open", None, None),
        # a sensor that reads some degrees too warm makes no code; a shorted one does
        ("outdoor_sensor_warm", "display_codes", "no_lockout", None, None),
        ("outdoor_sensor_warm", "display_codes", "sensor_code", None, None),
        ("outdoor_sensor_warm", "outdoor_ohms", "open_or_shorted", None, None),
        ("outdoor_sensor_cold", "outdoor_ohms", "open_or_shorted", None, None),
        # the boiler is hot while it heats the tank, whatever gets to the loops
        ("priority_stuck", "curve_check", 5.0, "F", None),
        ("priority_stuck", "curve_check", 40.0, "F", None),
        # a latched lever is let go by the motor, which makes the switch as ever
        ("valve_manual_lever_left_open", "end_switch_lifted", 0.3, "ohm", True),
        # the lead that opens is whole, only the one that shuts is lost
        ("three_wire_valve_held", "motor_volts", 25.5, "V", True),
        ("three_wire_valve_held", "motor_volts", 0.1, "V", False),
        ("three_wire_valve_held", "stat_volts", 0.2, "V", True),
        ("three_wire_valve_held", "wire_ohms", 5e6, "ohm", True),
        # it fails to shut now and then: just now it may shut
        ("valve_return_spring_weak", "lift_stat_lead", "stays_shut", None, None),
        ("valve_return_spring_weak", "pipe_temps", "outlet_follows_call", None, None),
        # a boiler that nobody asks is cold, unless another loop asks it
        ("relay_isolated_contact_failed", "pipe_temps", "both_cold", None, None),
        ("relay_isolated_contact_failed", "emitter_temps", "inlet_cold", None, None),
        ("relay_isolated_contact_failed", "loop_dt", 1.0, "F", True),
        ("relay_isolated_contact_failed", "loop_dt", 18.0, "F", True),
        # one valve without power hangs on a transformer that is whole
        ("normally_open_valve_unpowered", "sec_volts", 26.0, "V", None),
        ("normally_open_valve_unpowered", "fuse_check", 0.1, "V", None),
        ("normally_open_valve_unpowered", "motor_ohms", 5e6, "ohm", None),
    ],
)
def test_a_reading_that_the_fault_brings_along_does_not_rule_it_out(
    fault: str, check: str, read: float | str, unit: str | None, calling: bool | None
) -> None:
    """Each of these is found under that fault often enough to expect it."""
    assert likelihood(fault, check, read, unit, calling) > 2 * RULED_OUT


@pytest.mark.parametrize(
    ("fault", "check", "read", "unit", "calling"),
    [
        ("valve_manual_lever_left_open", "end_switch_lifted", 0.3, "ohm", False),
        ("relay_contact_welded", "noise_timing", "water_use", None, None),
        ("steam_low_water", "limit_chain", "all_closed", None, None),
        ("outdoor_sensor_warm", "outdoor_ohms", "on_table", None, None),
        ("normally_open_valve_unpowered", "sec_volts", 0.1, "V", None),
        ("priority_stuck", "curve_check", 130.0, "F", None),
    ],
)
def test_what_the_fault_never_shows_still_rules_it_out(
    fault: str, check: str, read: float | str, unit: str | None, calling: bool | None
) -> None:
    """A row that allows for more than before does not allow for everything."""
    assert likelihood(fault, check, read, unit, calling) < RULED_OUT


def test_a_pump_that_hums_without_end_is_not_only_a_pipe_that_carries() -> None:
    """Two homes hear it at all hours: a relay that does not let go is suspected, and on the truck."""
    hums = [Reported(ApartmentId(h), frozenset({Kind.NOISE}), Noise.HUM) for h in ("1A", "2A")]
    always = [Answered(ApartmentId(h), TopicId("q_noise_when"), "constant") for h in ("1A", "2A")]
    diagnosis = told(valves(), 48.0, *hums, *always)
    group = diagnosis.groups[0]

    assert "relay_contact_welded" in {s.fault for s in group.suspects[:3]}
    assert "relay" in {load.part for load in load_list(diagnosis, group)}
    heard = Found(HEARD, ComponentId("1A"), outcome="with_pump")
    after = told(valves(), 48.0, *hums, *always, heard).groups[0]
    assert after.suspects[0].probability < 0.9  # a hum alone does not say why the pump runs


def test_a_lock_out_of_a_steam_boiler_is_followed_by_its_water() -> None:
    """Whoever finds it locked out looks at lamp and glass before a gauge goes on the gas pipe."""
    homes = [a_bare_home(*at, emitter="cast_iron") for at in places(3, "AB")]
    source = {"id": "boiler-1", "kind": "steam_boiler", "control": "fixed", "hot_water": "none"}
    plant = built(a_house(homes, [a_loop(transformer=None)], sources=[source], transformers=()))
    cold = [Reported(ApartmentId(h), frozenset({Kind.TOO_COLD})) for h in ("1A", "2B", "3A")]
    boiler = ComponentId("boiler-1")
    locked = Found(CheckId("display_codes"), boiler, outcome="lockout")
    diagnosis = told(plant, 22.0, *cold, locked)

    order = [s.check for s in order_checks(diagnosis, diagnosis.groups[0])]
    water = [order.index(c) for c in ("glass_look", "lwco_test") if c in order]
    assert water
    assert "gas_pressure" not in order[: min(water)]
    low = Found(CheckId("glass_look"), boiler, outcome="low")
    lamp = Found(CheckId("lwco_test"), boiler, outcome="lamp_lit")
    after = told(plant, 22.0, *cold, locked, low, lamp).groups[0]
    assert after.suspects[0].fault == "steam_low_water"
    assert after.suspects[0].probability > 0.9


def test_one_normally_open_valve_without_power_is_not_its_transformer() -> None:
    """24 V at the transformer and none at the valve: its own lead or head, and that is loaded."""
    plant = valves("normally_open")
    home, valve = ApartmentId("1B"), ComponentId("1B.valve")
    hot = Reported(home, frozenset({Kind.TOO_HOT}))
    turned = Answered(home, TopicId("q_down"), "still_hot")
    found = [
        Found(CheckId("motor_volts"), valve, 0.1, "V", calling=False),
        Found(CheckId("sec_volts"), ComponentId("xf-1"), 26.0, "V", calling=False),
        Found(CheckId("stat_volts"), ComponentId("1B.thermostat"), 25.5, "V", calling=False),
    ]
    diagnosis = told(plant, 45.0, hot, turned, *found)
    group = diagnosis.groups[0]

    assert (group.suspects[0].fault, group.suspects[0].component) == (
        "normally_open_valve_unpowered",
        valve,
    )
    loaded = {load.part for load in load_list(diagnosis, group)}
    assert {"actuator_head", "wire"} <= loaded


def test_a_low_gauge_and_a_grinding_pump_are_no_worn_bearing() -> None:
    """A pump short of pressure crackles like gravel: a gauge comes before a new pump."""
    pump, boiler = ComponentId("pump-1"), ComponentId("boiler-1")
    rumbles = [
        Reported(ApartmentId(h), frozenset({Kind.NOISE}), Noise.RUMBLE) for h in ("1A", "2A")
    ]
    found = [
        Found(CheckId("pump_feel"), pump, outcome="grinding"),
        Found(CheckId("gauge_tp"), boiler, 5.0, "psi"),
    ]
    plant = built(
        a_house([a_home(*at) for at in places(2, "ABC")], [a_loop()], sources=[a_boiler()])
    )
    group = told(plant, 25.0, *rumbles, *found).groups[0]

    assert group.suspects[0].fault == "pump_cavitation"
