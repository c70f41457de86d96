"""Short names of checks, as they stand beside a reading: ``loop_dt`` needs more than spaces."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

__all__ = ["CHECK_WORDS", "check_words"]

# Only those that plain spaces would make unclear.
CHECK_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "ambient_co": "CO in the air",
        "balance_read": "warmest minus coldest return",
        "cap_uf": "run capacitor",
        "check_touch": "pipe past the check valve",
        "combustion_test": "CO in the flue gas",
        "curve_check": "supply above the wanted",
        "demand_pair": "volts at the boiler's demand terminals",
        "dhw_temp": "hot water temperature",
        "emitter_temps": "emitter temperatures",
        "end_switch_lifted": "end switch with a lead lifted",
        "fuse_check": "volts across the control fuse",
        "gauge_tp": "boiler gauge",
        "half_split_bus": "half of the end switch leads lifted",
        "head_off_pipe": "pipe with the valve's head off",
        "heat_loss": "emitter output of the heat loss",
        "hx_temps": "heat station temperatures",
        "iso_contact": "volts across the contact that asks the boiler",
        "jumper_at_stat": "wires joined at the thermostat",
        "jumper_stat": "thermostat leads joined at the valve",
        "lift_stat_lead": "thermostat lead lifted at the valve",
        "limit_chain": "volts across the safety chain",
        "loop_dt": "supply minus return",
        "lwco_test": "low-water cutoff",
        "mix_temps": "mixing valve temperatures",
        "outlet_at_tap": "relay or wires tapped",
        "prim_volts": "line side volts",
        "pump_contact": "volts across the pump contact",
        "pump_dp": "pressure across the pump",
        "room_probe": "thermostat minus thermometer",
        "sec_amps": "transformer load",
        "sec_volts": "24 V side volts",
        "stat_settings": "thermostat settings",
        "stat_volts": "volts at the thermostat",
        "stat_wall_look": "wall behind the thermostat",
        "strainer_dp": "pressure across the strainer",
        "switch_breaker": "switches and breakers",
        "trv_pin": "radiator valve pin",
    }
)


def check_words(check: str) -> str:
    """The check in a few words; one without an entry reads well with spaces alone."""
    return CHECK_WORDS.get(check, check.replace("_", " "))
