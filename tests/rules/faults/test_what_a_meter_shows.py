"""What a meter or an eye finds under a fault, held against its row: such a reading must not rule it out.

Facts of the trade, common practice, no source, but for what follows from a circuit: a contact that stays
open keeps the source's voltage across it, a loose wire none; what is not driven does not move.
"""

from __future__ import annotations

import pytest

from rules.diagnosis.measuring import chance, speaks_for
from rules.faults.catalogue import faults
from rules.model import CheckId, ComponentId, FaultId, Found

AT = ComponentId("somewhere")
# One of two words that may both be found is noted half the time.
FITS, RULED_OUT = 0.4, 0.1


def likelihood(
    fault: str | None, check: str, read: float | str, unit: str | None, calling: bool | None
) -> float:
    """Of a reading, under a fault or in a healthy plant."""
    word = read if isinstance(read, str) else None
    found = Found(
        CheckId(check), AT, None if word else float(read), unit, calling=calling, outcome=word
    )
    row = None if fault is None else faults()[FaultId(fault)]
    return chance(speaks_for(row, found), found)


@pytest.mark.parametrize(
    ("fault", "check", "read", "unit", "calling"),
    [
        ("valve_open_switch_made", "lever_feel", "limp", None, False),
        ("valve_return_spring_weak", "lever_feel", "limp", None, False),
        ("valve_motor_dead", "lever_feel", "firm", None, True),
        ("valve_motor_dead", "jumper_at_stat", "nothing_moves", None, None),
        ("valve_stuck_closed", "jumper_at_stat", "nothing_moves", None, None),
        ("valve_leak_by", "pipe_temps", "outlet_stays_hot", None, None),
        ("valve_gear_stripped", "emitter_temps", "lukewarm", None, None),
        ("end_switch_failed_open", "lever_feel", "limp", None, True),
        ("end_switch_failed_open", "pump_feel", "silent_cold", None, None),
        ("end_switch_failed_open", "demand_pair", 25.0, "V", True),
        ("stat_not_calling", "lever_feel", "firm", None, True),
        ("stat_mode_off", "stat_volts", 25.8, "V", True),
        ("stat_radio_lost", "stat_volts", 25.8, "V", True),
        ("stat_wire_open", "stat_volts", 0.1, "V", False),
        ("transformer_dead", "sec_amps", 0.0, "percent", True),
        ("power_outage", "pump_amps", 0.0, "A", True),
        ("relay_coil_dead", "demand_pair", 0.1, "V", True),
        ("relay_coil_dead", "demand_pair", 25.0, "V", True),
        ("isolation_valve_closed_zone", "pipe_temps", "outlet_cold", None, None),
        ("isolation_valve_closed_loop", "purge_flow", "no_flow", None, None),
        ("emitter_shut", "emitter_temps", "inlet_hot_radiator_cold", None, None),
        ("steam_vent_closed", "emitter_temps", "inlet_hot_radiator_cold", None, None),
        ("steam_vent_leaking", "vent_swap", "stays_open", None, None),
        ("steam_pressure_high", "glass_look", "level_steady", None, None),
        ("steam_pressure_high", "steam_gauge", 4.0, "psi", None),
        ("aquastat_high", "gauge_tp", 208.0, "F", None),
        ("aquastat_low", "curve_check", -40.0, "F", None),
        ("outdoor_sensor_cold", "display_codes", "no_lockout", None, None),
        ("boiler_demand_open", "gauge_tp", 84.0, "F", None),
        ("fill_low_pressure", "bleed_emitter", "nothing_comes", None, None),
        ("pump_speed_too_high", "noise_timing", "one_zone_only", None, None),
        ("district_valve_stuck", "curve_check", -50.0, "F", None),
    ],
)
def test_what_is_found_under_a_fault_speaks_for_it(
    fault: str, check: str, read: float | str, unit: str | None, calling: bool | None
) -> None:
    """The row does not take its own reading for somebody's mistake."""
    assert likelihood(fault, check, read, unit, calling) >= FITS


@pytest.mark.parametrize(
    ("check", "read", "unit", "calling"),
    [
        ("lever_feel", "limp", None, False),
        ("lever_feel", "limp", None, None),
        ("lever_feel", "firm", None, True),
        ("gauge_tp", 208.0, "F", None),
        ("steam_gauge", 4.0, "psi", None),
        ("leak_watch", 3.0, "psi", None),
        ("sniff_soap", "gas", None, None),
    ],
)
def test_a_healthy_plant_does_not_show_it(
    check: str, read: float | str, unit: str | None, calling: bool | None
) -> None:
    """A driven valve's lever is limp, an idle one's firm; 208 F or 4 psi of steam are too much."""
    assert likelihood(None, check, read, unit, calling) < RULED_OUT


@pytest.mark.parametrize(("word", "calling"), [("limp", True), ("firm", False), ("firm", None)])
@pytest.mark.parametrize("fault", ["window_open", "emitter_covered", "expectation_set_point"])
def test_a_lever_as_its_call_wants_it_says_nothing_of_the_room(
    fault: str, word: str, calling: bool
) -> None:
    """What leaves the valve alone leaves the lever as in a healthy plant."""
    ours = likelihood(fault, "lever_feel", word, None, calling)

    assert ours == likelihood(None, "lever_feel", word, None, calling)
    assert ours >= FITS
