"""Readings that follow from what a fault changes, where its row does not give them."""

from __future__ import annotations

import pytest

from rules.faults.catalogue import checks, faults
from rules.faults.rows import Fault

EMITTERS, PIPES = "emitter_temps", "pipe_temps"


def words(fault: Fault, check: str) -> set[str | None]:
    """What a row expects of a check that is answered in words."""
    return {reading.outcome for reading in fault.checks if reading.check == check}


@pytest.mark.parametrize("check", [EMITTERS, PIPES])
def test_no_fault_that_keeps_most_heat_back_leaves_its_homes_looking_healthy(check: str) -> None:
    """Emitters that get less than half the water, or of half the output, are not as warm as they should
    be, and the pipe before them is not either (common practice, no source)."""
    healthy = {checks()[check].outcomes[0]}
    weak = [f for f in faults().values() if f.change.flow * f.change.capacity <= 0.5]

    assert len(weak) > 20
    assert [f.id for f in weak if words(f, check) <= healthy] == []


def test_what_a_row_says_itself_stands() -> None:
    """A riser is cold past one point, whatever else so little flow looks like."""
    assert words(faults()["riser_blocked"], PIPES) == {"cold_past_one_point"}


def test_what_lets_most_water_through_may_look_healthy() -> None:
    """A strainer that takes a third of the flow leaves emitters nearly as warm as the supply."""
    assert words(faults()["strainer_clogged"], EMITTERS) == {"lukewarm", "as_warm_as_supply"}


def test_where_there_are_no_24_volts_no_wire_has_any_and_no_pump_runs() -> None:
    """Two wires joined at a valve move nothing, a meter at the thermostat shows nothing, the pump the
    relay should switch makes no pressure (common practice, no source)."""
    dead = [fault for fault in faults().values() if fault.change.power == "none"]

    assert {"fuse_blown", "transformer_dead"} <= {fault.id for fault in dead}
    for fault in dead:
        assert words(fault, "jumper_stat") == {"nothing_moves"}
        assert words(fault, "pump_dp") == {"near_zero"}
        volts = [r.reads for r in fault.checks if r.check == "stat_volts"]
        assert volts == [(0.0, 1.0)]


@pytest.mark.parametrize("fault_id", ["pump_seized", "relay_coil_dead", "breaker_tripped_loop"])
def test_a_pump_that_stands_makes_no_pressure_whatever_stops_it(fault_id: str) -> None:
    """Its gauges show the same on both sides; the valve opens (common practice, no source)."""
    fault = faults()[fault_id]

    assert words(fault, "pump_dp") == {"near_zero"}
    assert words(fault, "jumper_stat") == {"opens_no_pump"}
