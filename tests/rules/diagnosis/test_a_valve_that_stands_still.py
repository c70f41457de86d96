"""A valve that does not move on a call may be broken, or get no power or no call."""

from __future__ import annotations

import pytest
from conftest import NOW, report, weather

from rules.diagnosis import diagnose
from rules.model import CheckId, ComponentId, Evidence, Found


def suspicion(plant, households, seconds: float, *, calling: bool, kind: str) -> dict[str, float]:
    """Chance of each fault of 1A's ticket after somebody watched its valve."""
    evidence = [report("1A", kind, hours_ago=3)]
    watched = Found(CheckId("stroke_time"), ComponentId("1A.valve"), seconds, "s", calling)
    evidence.append(Evidence("f", NOW, watched))
    group = diagnose(plant, evidence, households, weather(), NOW).groups[0]
    return {str(s.fault): s.probability for s in group.suspects}


def before(plant, households, kind: str) -> dict[str, float]:
    """The same without the look at the valve."""
    group = diagnose(plant, [report("1A", kind, hours_ago=3)], households, weather(), NOW).groups[0]
    return {str(s.fault): s.probability for s in group.suspects}


@pytest.mark.parametrize("fault", ["stat_batteries_dead", "valve_motor_dead"])
def test_whatever_holds_a_valve_shut_is_suspected_more(plant, households, fault):
    """No call and no motor keep it shut; a shut radiator does not (common practice, no source)."""
    still = suspicion(plant, households, 3600.0, calling=True, kind="too_cold")
    first = before(plant, households, "too_cold")
    assert still[fault] > first[fault]
    assert still.get("emitter_shut", 0.0) < first["emitter_shut"]


def test_a_valve_that_opens_in_time_clears_the_motor(plant, households):
    """A motor opens its valve within a minute (common practice, no source)."""
    moves = suspicion(plant, households, 30.0, calling=True, kind="too_cold")
    first = before(plant, households, "too_cold")["valve_motor_dead"]
    assert moves.get("valve_motor_dead", 0.0) < first / 2


def test_a_valve_that_stays_open_without_a_call_is_the_overheating(plant, households):
    """Stuck open, or held open by a call that never ends (common practice, no source)."""
    still = suspicion(plant, households, 3600.0, calling=False, kind="too_hot")
    first = before(plant, households, "too_hot")
    held = {f for f in still if f in first and still[f] > first[f]}
    assert {"valve_stuck_open", "stat_stuck_calling"} & held
