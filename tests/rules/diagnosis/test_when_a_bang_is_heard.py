"""What the moment of a bang says of its cause."""

from __future__ import annotations

import pytest

from rules.diagnosis.measuring import chance
from rules.faults.catalogue import faults
from rules.model import CheckId, ComponentId, FaultId, Found

TIMING = CheckId("noise_timing")


def _chance(fault: str, heard: str) -> float:
    rows = [r for r in faults()[FaultId(fault)].checks if r.check == TIMING]
    return chance(rows, Found(TIMING, ComponentId("1A"), outcome=heard))


# Bangs at the start in steam are water in the pipes, those at the taps are plumbing: common practice,
# no source.
@pytest.mark.parametrize("steam", ["steam_hammer", "steam_valve_part_shut"])
def test_a_bang_as_steam_comes_is_not_the_taps(steam):
    """Heard as heat arrives it is water in steam pipes, heard when a tap shuts it is the plumbing."""
    taps = "water_hammer_plumbing"

    assert _chance(steam, "heat_arriving") > 10 * _chance(taps, "heat_arriving")
    assert _chance(taps, "water_use") > 10 * _chance(steam, "water_use")
