"""Outcomes of checks as people read them: ``motor_turns_body_still`` needs more than spaces."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

__all__ = ["OUTCOME_WORDS", "outcome_words"]

# Only those that plain spaces would make unclear.
OUTCOME_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "does_not_fire": "does not fire at all",
        "device_near": "a device stands near it",
        "equal_hot": "equally hot",
        "fills_and_holds": "fills, and holds",
        "fires_and_stops": "fires, then stops",
        "heater_in_room": "a heater in the room",
        "hot_no_vibration": "hot, no vibration",
        "level_steady": "level and steady",
        "light_hum": "hums lightly",
        "never_starts": "never starts",
        "no_flame": "no flame to measure",
        "no_steam": "no steam comes",
        "not_running": "the burner does not run",
        "motor_turns_body_still": "the motor turns, the body stands still",
        "open_or_shorted": "open, or shorted",
        "opens_and_plant_starts": "opens, and the plant starts",
        "opens_no_pump": "opens, but no pump runs",
        "passes_and_shuts": "passes, and shuts",
        "primary_cold": "the primary side is cold",
        "relay_not_in": "the relay has not pulled in",
        "secondary_off": "the secondary side is off",
        "silent_cold": "silent and cold",
        "stops_at_set": "stops at the set value",
        "tank_and_tap_right": "tank and tap are right",
        "tank_cold": "the tank is cold",
        "tank_never_satisfied": "the tank is never satisfied",
        "tap_tepid_tank_hot": "the tap is tepid, the tank hot",
        "tap_too_hot": "the tap is too hot",
        "vents_and_closes": "vents, then closes",
    }
)


def outcome_words(outcome: str) -> str:
    """The outcome in words; an outcome without an entry reads well with spaces alone."""
    return OUTCOME_WORDS.get(outcome, outcome.replace("_", " "))
