"""Lines of evidence as people say them: no ids of questions, checks or outcomes."""

from __future__ import annotations

import re

from service.pages.words import component_words
from service.usecases.showing.check_words import check_words
from service.usecases.showing.outcome_words import outcome_words

__all__ = ["why_words"]

_TOPICS = {
    "q_read": "room temperature",
    "q_set": "setting",
    "q_screen": "the thermostat's screen",
    "q_batteries": "new batteries",
    "q_leak_at": "where the water is",
    "q_mode": "the thermostat's mode",
    "q_hot": "the radiator",
    "q_down": "turning down",
    "q_up": "turning up",
    "q_rooms": "how many rooms",
    "q_neigh": "the neighbors",
    "q_start": "since when",
    "q_window": "open windows",
    "q_block": "covered radiators",
    "q_dhw": "hot water",
    "q_noise": "the noise",
    "q_noise_when": "when it is heard",
    "q_leak": "the water",
    "q_temp2": "room temperature, again",
    "q_time": "the time of day",
    "q_settle": "where it settles",
    "q_heater": "a space heater",
    "q_onoff": "whether it comes and goes",
    "q_steam": "the steam radiator",
}
# What the rules say of a reading: "coil_volts at relay-2 not calling: 0 V".
_READING = re.compile(
    r"(?P<check>[a-z_]+) at (?P<at>\S+?)(?P<call> calling| not calling|): (?P<shown>.+)"
)
_TOPIC = re.compile(r" answers (q_\w+): ")


def why_words(says: str) -> str:
    """``2A answers q_dhw: normal`` as ``2A, asked about hot water: normal``; readings alike."""
    return "; ".join(_one(piece) for piece in says.split("; "))


def _one(says: str) -> str:
    reading = _READING.fullmatch(says)
    if reading is None:
        return _TOPIC.sub(lambda m: f", asked about {_TOPICS.get(m[1], 'something')}: ", says)
    check, shown = check_words(reading["check"]), outcome_words(reading["shown"])
    call = f", {reading['call'].strip()}" if reading["call"] else ""
    return f"{check} at {component_words(reading['at'])}: {shown}{call}"
