"""A fault row as a row of the control chain (``rules.heat.columns``)."""

from __future__ import annotations

from functools import cache

from rules.faults.catalogue import fault_at
from rules.faults.rows import At, Change, Fault
from rules.heat.columns import Rows, row
from rules.model import FaultId

__all__ = ["encode", "encoded"]

# (field of Change, its value) -> column that becomes 1
_FLAG_OF = {
    ("call", "always"): "always_calls",
    ("call", "never"): "never_calls",
    ("motor", "dead"): "motor_dead",
    ("valve", "open"): "valve_open",
    ("valve", "shut"): "valve_shut",
    ("end_switch", "open"): "switch_open",
    ("end_switch", "closed"): "switch_closed",
    ("end_switch", "erratic"): "switch_erratic",
    ("relay", "dead"): "relay_dead",
    ("relay", "welded"): "relay_welded",
    ("pump_contact", "open"): "pump_contact_open",
    ("isolated_contact", "open"): "isolated_contact_open",
    ("power", "none"): "no_power",  # and the relay stands without it, see ``encode``
    ("power", "overloaded"): "power_short",
    ("demand", "open"): "demand_open",
    ("demand", "shorted"): "demand_shorted",
    ("hot_water", "none"): "tap_cold",
    ("hot_water", "lukewarm"): "tap_lukewarm",
    ("hot_water", "too_hot"): "tap_too_hot",
}
_NUMBERS = (
    "offset_f",
    "reads_off_f",
    "leak",
    "path",
    "emitter",
    "loss",
    "gain_f",
    "flow",
    "check_leak",
    "capacity",
    "output_lost",
    "water_shift_f",
)


def encode(change: Change) -> dict[str, float]:
    """The columns that a change sets, by name."""
    columns = {name: float(getattr(change, name)) for name in _NUMBERS}
    for (field, value), flag in _FLAG_OF.items():
        if getattr(change, field) == value:
            columns[flag] = 1.0
    if change.power == "none":
        columns["relay_dead"] = 1.0
    return columns


@cache
def encoded(fault_id: FaultId, at: At) -> Rows:
    """The chain with this fault alone, what is heard and seen of it included. Do not write to it."""
    return encoded_row(fault_at(fault_id, at))


def encoded_row(fault: Fault) -> Rows:
    """The same for a row that need not stand in the catalogue."""
    columns = encode(fault.change)
    for noise, chance in fault.reports.noise.items():
        columns[f"noise_{noise.value}"] = chance
    columns["cold_felt"] = fault.reports.too_cold
    columns["heat_felt"] = fault.reports.too_hot
    columns["gas_noticed"] = fault.reports.gas_smell
    columns["co_noticed"] = fault.reports.co_alarm
    columns["smoke_noticed"] = fault.reports.smoke
    columns["sparks_noticed"] = fault.reports.electrical
    columns["leak_seen"] = fault.reports.leak
    columns["tap_noticed"] = fault.reports.no_hot_water
    columns["other_noticed"] = fault.reports.other
    made = row(columns)
    made.setflags(write=False)
    return made
