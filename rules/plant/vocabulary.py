"""The words a building file may use, and the numbers that stand in for what it leaves out."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

from rules.data import table

__all__ = [
    "CONSTRUCTIONS",
    "CONTROLS",
    "EMITTERS",
    "HOT_WATERS",
    "PIPINGS",
    "SCHEMA",
    "SOURCE_KINDS",
    "THERMOSTAT_KINDS",
    "VALVE_KINDS",
    "ZONINGS",
    "ComponentKind",
    "Graph",
    "default_design_outdoor_f",
    "default_valve_va",
    "heat_rule_ids",
    "relay_va",
    "stroke_seconds",
    "time_constants_hours",
    "transformer_margin",
]

SCHEMA = 1
CONSTRUCTIONS = ("masonry", "light_frame", "insulated_masonry", "custom")
SOURCE_KINDS = ("hot_water_boiler", "condensing_boiler", "steam_boiler", "district_station")
CONTROLS = ("fixed", "outdoor_reset")
HOT_WATERS = ("none", "indirect", "indirect_priority", "tankless_coil", "separate")
EMITTERS = ("fin_tube", "steel_panel", "cast_iron", "radiant_floor")
ZONINGS = ("zone_valve", "zone_circulator", "trv", "none")
VALVE_KINDS = ("motor_4wire", "motor_3wire", "motor_2wire", "heat_motor", "wax", "normally_open")
PIPINGS = ("risers", "floors", "series", "direct_return")
THERMOSTAT_KINDS = ("battery", "powered", "none")


class ComponentKind(StrEnum):
    """Everything in a plant that can be named, and therefore can be at fault."""

    VALVE = "valve"
    THERMOSTAT = "thermostat"
    APARTMENT = "apartment"
    CIRCULATOR = "circulator"
    RELAY = "relay"
    LOOP = "loop"
    RISER = "riser"
    TRANSFORMER = "transformer"
    SOURCE = "source"
    CASCADE = "cascade"
    BUILDING = "building"


class Graph(StrEnum):
    """The ways in which one component depends on another."""

    WATER = "water"
    POWER = "power"
    DEMAND = "demand"
    PRESSURE = "pressure"
    NEIGHBOURS = "neighbours"


def time_constants_hours() -> Mapping[str, float]:
    """Hours by construction; ``custom`` has no entry, its file must say."""
    return {name: float(hours) for name, hours in table("plant")["time_constant_hours"].items()}


def default_design_outdoor_f() -> float:
    """The winter design temperature of a building whose file gives none."""
    return float(table("plant")["design_outdoor_f"])


def default_valve_va(kind: str) -> float:
    """What a valve of this kind draws when its file does not say."""
    return float(table("plant")["valve_va"][kind])


def stroke_seconds(kind: str) -> int:
    """The longest a healthy valve of this kind takes to open or to shut."""
    return int(table("plant")["stroke_seconds"][kind])


def relay_va() -> float:
    """What one relay coil draws."""
    return float(table("plant")["relay_va"])


def transformer_margin() -> float:
    """Share of the nameplate above which a transformer has no margin left."""
    return float(table("plant")["transformer_margin"])


def heat_rule_ids() -> frozenset[str]:
    """The ids of all heat-law row sets there are."""
    return frozenset(str(row["rule"]) for row in table("heat_laws"))
