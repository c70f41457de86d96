"""The 24 V call chain R - thermostat - valve motor - C, as published trade teaching has it."""

from __future__ import annotations

import pytest

from rules.diagnosis.measuring import chance, speaks_for
from rules.faults.catalogue import faults
from rules.model import CheckId, ComponentId, FaultId, Found

# Across the motor while thermostat, wire or winding of a series circuit is open. Trade articles on
# switch voltage (two agree): the source stands across what is open, nothing across the rest.
AT_MOTOR_V = {
    "stat_not_calling": 0.0,
    "stat_batteries_dead": 0.0,
    "stat_wire_open": 0.0,
    "valve_motor_dead": 26.0,
}


@pytest.mark.parametrize("fault", sorted(AT_MOTOR_V))
def test_the_catalogue_reads_as_the_circuit_says(fault):
    """What fault rows expect at the valve's motor is what the circuit shows, while calling."""
    row = faults()[FaultId(fault)]

    def agrees(volts):
        check, valve = CheckId("motor_volts"), ComponentId("1A.valve")
        found = Found(check, valve, volts, "V", calling=True)
        return chance(speaks_for(row, found), found)

    assert agrees(AT_MOTOR_V[fault]) > 10 * agrees(26.0 - AT_MOTOR_V[fault])


def test_a_called_healthy_motor_has_24_to_28_volts_and_none_when_not_called():
    """Common practice, no source: about 24 to 28 V AC across a called motor and 0 when not."""

    def healthy(value, calling):
        found = Found(CheckId("motor_volts"), ComponentId("1A.valve"), value, "V", calling)
        return chance((), found)

    assert healthy(24.0, True) == healthy(28.0, True) > 10 * healthy(0.0, True)
    assert healthy(0.0, False) > 10 * healthy(24.0, False)
