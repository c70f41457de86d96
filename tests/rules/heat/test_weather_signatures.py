"""What weather does to each fault, from the control chain and the room model alone."""

from __future__ import annotations

import numpy as np
import pytest
from one_home import temperature_f

from rules.heat.columns import column, merge, row
from rules.heat.company import delivered, others_calling, spells_at
from rules.heat.control import ChainKind, Chains
from rules.heat.rooms import Climate, healthy_duty
from rules.plant import Circuit

ZONE_VALVE = ChainKind("zone_valve", "motor_4wire")
# Six valves of 7 VA and a relay of 5 on 40 VA, of which four fifths are 32.
HOLDS_THREE = Circuit(6, 3)
OUTDOOR_F = (60.0, 55.0, 45.0, 30.0, 20.0, 5.0)


def room_f(outdoor: float, hours: float = 48.0, kind: ChainKind = ZONE_VALVE, **changed: float):
    """Room temperature of one home of six on a loop, with one fault, after ``hours``."""
    climate = Climate(outdoor, 13.0, 52.0)
    rows = row(changed)[None, :]
    heat = delivered(rows, kind, spells_at(climate, 5, 6, HOLDS_THREE))
    return temperature_f(rows, heat, climate, hours)


@pytest.mark.parametrize(
    ("outdoor", "duty"), [(60, 0.04), (45, 0.27), (30, 0.50), (20, 0.66), (5, 0.87)]
)
def test_duty_of_a_healthy_zone(outdoor, duty):
    """Share of time a healthy zone calls: computed values of a two-loop masonry house, no source."""
    assert healthy_duty(Climate(outdoor, 13.0, 52.0)) == pytest.approx(duty, abs=0.03)


@pytest.mark.parametrize(("outdoor", "chance"), [(60, 0.17), (45, 0.75), (30, 0.95), (20, 0.98)])
def test_chance_that_another_zone_runs_the_pump(outdoor, chance):
    """Six zones on a loop: computed values of the trade notes, order of magnitude, no source."""
    duty = healthy_duty(Climate(outdoor, 13.0, 52.0))

    assert others_calling(duty, 5) == pytest.approx(chance, abs=0.1)


@pytest.mark.parametrize(("outdoor", "above"), [(45, 15.0), (30, 11.0), (5, 5.0)])
def test_stuck_open_valve_overheats_most_in_mild_weather(outdoor, above):
    """+15 F at 45 F, +11 F at 30 F, +5 F at 5 F outdoors after two days (computed, no source)."""
    found = room_f(outdoor, valve_open=1, switch_closed=1) - 70

    assert found == pytest.approx(above, abs=3.5)


def test_failed_open_end_switch_gets_better_as_it_gets_colder():
    """Others run the pump more in the cold, so the home is worst off relative to need when mild."""
    climate = [Climate(out, 13.0, 52.0) for out in (55.0, 20.0)]
    shares = []
    for c in climate:
        duty = healthy_duty(c)
        heat = Chains(row({"switch_open": 1})[None, :], ZONE_VALVE).among(
            others_calling(duty, 5), 0.9
        )
        shares.append(float(heat.calling[0]))

    assert shares[0] < 0.6
    assert shares[1] > 0.9


def test_overloaded_transformer_gets_worse_as_it_gets_colder():
    """More zones call at once in the cold, and the last callers lose."""
    temperatures = [room_f(out, power_short=1) for out in OUTDOOR_F]

    assert temperatures == sorted(temperatures, reverse=True)
    assert temperatures[0] == pytest.approx(70, abs=1)
    assert temperatures[-1] < 62


def test_open_window_is_cold_on_a_design_day_and_unnoticed_when_mild():
    """An open window is a cold complaint in deep cold only."""
    assert room_f(45, loss=1.8) == pytest.approx(70, abs=0.5)
    assert room_f(5, loss=1.8) < 64


def test_stuck_open_valve_with_window_open_on_a_design_day_is_no_hot_complaint():
    """Overheating and an open window cancel on the coldest day."""
    assert room_f(5, valve_open=1, switch_closed=1, loss=1.8) < 70


def test_dead_motor_is_cold_at_any_temperature_and_faster_when_colder():
    """No heat is no heat; the cold only hurries it."""
    falls = [70 - room_f(out, hours=12, motor_dead=1) for out in OUTDOOR_F]

    assert falls == sorted(falls)
    assert falls[0] > 0.3


def test_an_end_switch_starts_the_circulator_whoever_closes_it():
    """Common practice, no source: any end switch of a loop starts its circulator."""
    open_valve = row({"valve_open": 1, "switch_open": 1})[None, :]

    nobody = Chains(open_valve, ZONE_VALVE).among(0.0, 1.0)
    somebody = Chains(open_valve, ZONE_VALVE).among(1.0, 1.0)

    assert float(nobody.idle[0]) == 0.0
    assert float(somebody.idle[0]) == pytest.approx(1.0)


def test_valve_open_without_voltage_has_failed_open():
    """Common practice, no source: a spring-return valve that is open with no voltage failed open."""
    unpowered = row({"no_power": 1})[None, :]
    stuck = row({"no_power": 1, "valve_open": 1})[None, :]

    assert float(Chains(unpowered, ZONE_VALVE).among(1.0, 1.0).calling[0]) == 0.0
    # the loop's relay has no power either in this row, so look at a relay that is held in
    held = merge(stuck, row({"relay_welded": 1})[None, :])
    assert float(Chains(held, ZONE_VALVE).among(1.0, 1.0).idle[0]) > 0.9


def test_normally_open_valve_overheats_when_power_is_lost():
    """Loss of 24 V closes a spring-return valve and opens a normally open one."""
    lost = row({"no_power": 1, "relay_welded": 1})[None, :]

    normally_open = Chains(lost, ChainKind("zone_valve", "normally_open")).among(1.0, 1.0)
    spring_return = Chains(lost, ZONE_VALVE).among(1.0, 1.0)

    assert float(normally_open.idle[0]) > 0.9
    assert float(spring_return.idle[0]) == 0.0


def test_two_faults_together_are_the_worse_of_each_step():
    """Merging multiplies flows and keeps every flag."""
    both = merge(row({"flow": 0.5}), row({"flow": 0.4, "motor_dead": 1}))

    assert column(both, "flow") == pytest.approx(0.2)
    assert column(both, "motor_dead") == 1
    assert np.array_equal(merge(both, row({})), both)
