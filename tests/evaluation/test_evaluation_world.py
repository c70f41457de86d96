"""The simulated building behaves as the trade says buildings behave."""

from __future__ import annotations

import numpy as np
import pytest

from rules.model import Kind, TopicId

from .answers import answer_fact
from .conftest import case, lived, off_at_end
from .drawing import draw
from .people import CHANNELS, hazards, households, let_them_write
from .technician import take_reading
from .weather import STEPS_PER_HOUR


def test_a_healthy_building_holds_its_set_points(plain):
    """At 30 F outdoors every home stays within 1.5 F of its thermostat."""
    world = lived(plain, 30.0)

    assert np.abs(world.air[96:, 0].mean(axis=0) - plain.set_f).max() < 1.5


def test_a_dead_transformer_takes_its_group_and_no_other(plain):
    """All homes of the group go cold together, the other floor stays within a degree or so."""
    world = lived(plain, 25.0, case("transformer_dead", "xf-1"))

    assert max(off_at_end(world, f"1{x}") for x in "ABC") < -8
    assert min(off_at_end(world, f"2{x}") for x in "ABC") > -2


@pytest.mark.parametrize(
    ("fault", "component", "home", "milder", "colder"),
    [
        # signs by weather of the trade's table (common practice and own calculation, no source)
        ("valve_open_switch_made", "1A.valve", "1A", 45.0, 5.0),
        ("valve_return_spring_broken", "2B.valve", "2B", 45.0, 5.0),
    ],
)
def test_some_faults_show_most_in_mild_weather(plain, fault, component, home, milder, colder):
    """The cold absorbs the surplus: about +15 F at 45 F outdoors, +5 F at 5 F, windows shut."""
    own = home if component.startswith(home) else None
    mild = abs(off_at_end(lived(plain, milder, case(fault, component, own)), home))
    cold = abs(off_at_end(lived(plain, colder, case(fault, component, own)), home))

    assert mild > cold + 0.5


@pytest.mark.parametrize(
    ("fault", "component"),
    [("transformer_overloaded", "xf-1"), ("boiler_partial_capacity", "boiler-1")],
)
def test_short_capacity_shows_only_in_the_cold(plain, fault, component):
    """Many calls at once, or a great loss, is what these cannot serve."""
    mild = min(off_at_end(lived(plain, 55.0, case(fault, component)), f"1{x}") for x in "ABC")
    cold = min(off_at_end(lived(plain, 5.0, case(fault, component)), f"1{x}") for x in "ABC")

    assert mild > -1.0
    assert cold < -3.0


def test_an_open_end_switch_hides_behind_neighbours_that_call(plain):
    """0 to -1 F at 45 F outdoors while the other homes of the loop are lived in (own calculation)."""
    world = lived(plain, 45.0, case("end_switch_failed_open", "1A.valve", "1A"))

    assert -1.2 < off_at_end(world, "1A") < 0.0


def test_a_home_loses_its_first_degrees_fast(plain):
    """About 3 F within two hours of a dead boiler at 20 F outdoors (own calculation of the trade)."""
    world = lived(plain, 20.0, case("boiler_lockout", "boiler-1"))
    fell = (world.air[96, 0] - world.air[104, 0]).mean()

    assert 1.5 < fell < 5.0


def test_half_of_the_homes_that_are_4_f_too_cold_write_within_a_day(plain):
    """0.5 in 24 h at 4 F under the wish (common practice, no source)."""
    world = lived(plain, 30.0, case("stat_reads_high", "1A.thermostat", "1A", shown=4.5))
    home = plain.names.index("1A")
    rates = [hazards(world, s)[0, home, CHANNELS.index("too_cold")] for s in range(150, 246)]

    assert 0.35 < 1 - np.exp(-sum(rates) / STEPS_PER_HOUR) < 0.7


def test_the_unreachable_never_write(plain):
    """Silence of a home without a number is no evidence, so it must not speak here."""
    world = lived(plain, 10.0, case("boiler_lockout", "boiler-1"))
    people = households(np.random.default_rng(4), 6)
    said = let_them_write(np.random.default_rng(5), world, people, start=96, end=288)

    assert {c.home for c in said} <= set(np.flatnonzero(people.reachable))
    assert len(said) >= 2


def test_answers_are_the_truth_but_for_the_trades_error_rate(plain):
    """A cold radiator is called hot or warm by 6 % (the trade's list of questions)."""
    world = lived(plain, 25.0, case("valve_motor_dead", "1A.valve", "1A"))
    rng = np.random.default_rng(6)
    told = [answer_fact(rng, world, 0, TopicId("q_hot"), 240).means for _ in range(1500)]

    assert told.count("cold") / len(told) == pytest.approx(0.94, abs=0.02)


def test_turning_up_warms_a_healthy_emitter_and_not_a_dead_one(plain):
    """The turn-up check of copy 0 (dead valve) and copy 1 (healthy)."""
    world = lived(plain, 25.0, case("valve_motor_dead", "1A.valve", "1A"))
    metal, pipe = world.turned(240, 0, 75.0, 30)

    assert pipe[0] < 90
    assert pipe[1] > 110
    assert metal[0] < 90 < metal[1]


@pytest.mark.parametrize(
    ("fault", "component", "home", "check", "at", "expected"),
    [
        ("valve_motor_dead", "1A.valve", "1A", "motor_volts", "1A.valve", (24, 28)),
        ("valve_motor_dead", "1A.valve", "1A", "motor_ohms", "1A.valve", (1e5, 1e9)),
        ("stat_not_calling", "1A.thermostat", "1A", "motor_volts", "1A.valve", (0, 1)),
        ("transformer_dead", "xf-1", None, "sec_volts", "xf-1", (0, 1)),
        ("transformer_dead", "xf-1", None, "coil_volts", "relay-1", (0, 1)),
        ("relay_coil_dead", "relay-1", None, "coil_volts", "relay-1", (24, 28)),
        ("relay_coil_dead", "relay-1", None, "pump_volts", "pump-1", (0, 1)),
        ("boiler_demand_open", "boiler-1", None, "demand_pair", "boiler-1", (24, 28)),
    ],
)
def test_meters_read_what_the_chain_gives(plain, fault, component, home, check, at, expected):
    """While calling; all but the few wrong readings (3 %) lie in the expected range."""
    world = lived(plain, 25.0, case(fault, component, home))
    rng = np.random.default_rng(8)
    read = [
        next(f for f in take_reading(rng, world, 240, check, at) if f.calling is not False).value
        for _ in range(60)
    ]
    low, high = expected

    assert np.mean([low * 0.9 <= v <= high * 1.1 for v in read]) > 0.85


def test_a_tank_that_empties_a_little_later_alone_has_the_same_cause():
    """Pipes that tick in one home take nobody's hot water, whenever the boiler was last on."""
    drawn = draw(11_000_121)
    names = [case.row.id for case in drawn.cases]
    cold_taps = [
        causes
        for complaint, causes in zip(drawn.complaints, drawn.causes, strict=True)
        if complaint.felt is Kind.NO_HOT_WATER
    ]

    assert names == ["boiler_switch_off", "expansion_tick"]
    assert len(cold_taps) > 2
    assert set(cold_taps) == {frozenset({0})}
