"""Read a text without storing anything."""

from __future__ import annotations

from typing import Any

from rules.model import Temperature, TopicId
from rules.reading import Reading, read
from service.usecases.printable import printable

__all__ = ["read_text", "reading_json"]


def read_text(text: str, asked: str | None) -> dict[str, Any]:
    """What a text says, as JSON."""
    return reading_json(read(printable(text), TopicId(asked) if asked else None))


def reading_json(reading: Reading) -> dict[str, Any]:
    """A reading in the form the API shows it."""
    answer = reading.answer
    return {
        "language": reading.language.value,
        "intent": reading.intent.value,
        "kinds": [k.value for k in reading.kinds],
        "danger": reading.danger,
        "room_temp": _temperature(reading.room_temp),
        "setpoint": _temperature(reading.setpoint),
        "noise": reading.noise.value if reading.noise else None,
        "care": [c.value for c in reading.care],
        "emitter": reading.emitter.value if reading.emitter else None,
        "window_open": reading.window_open,
        "thermostat_blank": reading.thermostat_blank,
        "rooms": reading.rooms.value if reading.rooms else None,
        "danger_kinds": list(reading.danger_kinds),
        "answer": {"topic": answer.topic, "means": answer.means} if answer else None,
        "spans": [{"start": s.start, "end": s.end, "what": s.what} for s in reading.spans],
    }


def _temperature(found: Temperature | None) -> dict[str, Any] | None:
    if found is None:
        return None
    value = int(found.value) if float(found.value).is_integer() else found.value
    return {"value": value, "unit": found.unit}
