"""What a text says of the home in one of a few values each: emitter, window, screen, rooms, noise.

Theory of operation
-------------------
Each value is a label that is weighed like a kind of trouble (``weights``); what rules find of it is one
clue more. Of the values that more speaks for than against the strongest is told; a noise has one in any
case, and is of no known sort where none is plainly ahead: to ask what it sounds like costs little.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from rules.model import EmitterHeat, Noise, Rooms
from rules.reading.home import Home

__all__ = ["SLOTS", "Slot", "Slots", "by_rule", "name_of_span", "name_of_value", "slots_of"]

Value = EmitterHeat | Noise | Rooms | bool


class Slot(NamedTuple):
    """A field of a reading and one value that it may have."""

    field: str
    value: Value


@dataclass(frozen=True, slots=True)
class Slots:
    """What is told of each; None where nothing is."""

    noise: Noise | None = None
    emitter: EmitterHeat | None = None
    window_open: bool | None = None
    thermostat_blank: bool | None = None
    rooms: Rooms | None = None

    def told(self) -> Iterator[Slot]:
        """The fields that have a value."""
        for field in _VALUES:
            if (value := getattr(self, field)) is not None:
                yield Slot(field, value)


_VALUES: Mapping[str, tuple[Value, ...]] = {
    "noise": tuple(Noise),
    "emitter": tuple(EmitterHeat),
    "window_open": (True, False),
    "thermostat_blank": (True, False),
    "rooms": tuple(Rooms),
}
SLOTS = tuple(Slot(field, value) for field, values in _VALUES.items() for value in values)
# As ``home`` calls the words it finds.
_SPANS = {
    Slot("window_open", True): "window_open",
    Slot("window_open", False): "window_closed",
    Slot("thermostat_blank", True): "thermostat_blank",
    Slot("thermostat_blank", False): "thermostat_shows",
}
_ANY_SORT = SLOTS.index(Slot("noise", Noise.OTHER))
# In hundredths, as the weights' table.
_PLAINLY = 100
_PLACES = {field: [n for n, slot in enumerate(SLOTS) if slot.field == field] for field in _VALUES}


def by_rule(home: Home, noise: Noise | None) -> Slots:
    """What rules find."""
    return Slots(noise, home.emitter, home.window_open, home.thermostat_blank, home.rooms)


def slots_of(sums: Sequence[float], *, is_noise: bool) -> Slots:
    """What is told of each, by sums in the order of ``SLOTS``."""
    told: dict[str, Value | None] = {}
    for field, places in _PLACES.items():
        best = max(places, key=sums.__getitem__)
        holds = is_noise if field == "noise" else sums[best] > 0
        if field == "noise" and sums[best] < sums[_ANY_SORT] + _PLAINLY:
            best = _ANY_SORT
        told[field] = SLOTS[best].value if holds else None
    return Slots(**told)  # type: ignore[arg-type]


def name_of_span(slot: Slot) -> str:
    """What a span is called that tells the value of a slot."""
    return _SPANS.get(slot) or f"{slot.field}:{name_of_value(slot.value)}"


def name_of_value(value: Value) -> str:
    """The value as tables and spans name it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value.value
