"""Which number in a text is the room's temperature and which is what the thermostat is set to.

Theory of operation
-------------------
``numbers`` gives every number its role; here the ones that count are chosen and get their units.
Numbers without a unit are Celsius from 15 to 30 and Fahrenheit from 40 to 110; a bare number below 40
needs a cue that it is a temperature.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Literal

from rules.model import Kind, Temperature
from rules.reading.numbers import Numbers, Role, settle, unit_after
from rules.reading.phrases import section
from rules.reading.seen import Span
from rules.reading.words import Sort, Words

__all__ = ["Degrees", "degrees_in", "is_at_setting", "kinds_of_degrees"]

# Rooms and thermostats lie between these whatever the unit given.
_F_RANGE = (25.0, 115.0)
_C_RANGE = (-5.0, 50.0)
_LOWEST_SETTING_C = 10.0
# Of two rooms the one farther from this is complained of, if nothing else tells.
_USUAL_F = 70.0
# Common practice, no source: a home below is called cold, above hot, whatever was meant.
_COLD_BELOW_F = 65.0
_HOT_ABOVE_F = 78.0
# A thermostat swings by a degree or so around its setting.
_OFF_SETTING_F = 2.0


@dataclass(frozen=True, slots=True)
class Degrees:
    """The current reading and setting, and what was wished for or guessed.

    ``between`` holds the two of "either 78 or 64".
    """

    room: Temperature | None = None
    setpoint: Temperature | None = None
    between: tuple[Temperature, ...] = ()
    wished: Temperature | None = None
    felt: Temperature | None = None
    spans: tuple[Span, ...] = ()


def degrees_in(words: Words, kinds: Collection[Kind]) -> Degrees:
    """The temperatures told; ``kinds`` decide between two rooms and between odd units."""
    at = [i for i, word in enumerate(words) if word.sort is Sort.NUMBER and word.value is not None]
    if not at:
        return Degrees()
    seen = section("numbers")
    numbers = Numbers(words, seen, seen.line(words), kinds)
    if numbers.line.says(seen["unsure_which"]):
        return Degrees()
    settle(numbers, at)
    return _chosen(numbers, at)


def _temperature(numbers: Numbers, number: int) -> Temperature | None:
    value = numbers.words[number].value or 0.0
    unit = _unit(numbers, number, value)
    if unit is None or _is_door(numbers.words, number, value):
        return None
    low, high = _F_RANGE if unit == "F" else _C_RANGE
    return Temperature(value, unit) if low <= value <= high else None


def _is_door(words: Words, number: int, value: float) -> bool:
    """ "3C", "2F" and "5B" are doors of a building, "18C" and "62F" temperatures."""
    following = words[number + 1] if number + 1 < len(words) else None
    if following is None or len(following.text) != 1 or not following.text.isalpha():
        return False
    if following.text in "cf":
        return value < (10 if following.text == "c" else 32)
    return following.glued


def _unit(numbers: Numbers, number: int, value: float) -> Literal["F", "C"] | None:
    said = unit_after(numbers.line, number)
    if said in ("F", "C"):
        return "F" if said == "F" else "C"
    if value >= 40:
        return "F"
    if 15 <= value <= 30:
        return "C"
    if said != "degrees" and number not in numbers.cued:
        return None
    # Between and below the usual ranges only one of the two can be a room.
    if value > 30:
        return "F" if Kind.TOO_COLD in numbers.kinds else "C"
    return "C" if value >= 5 else None


def _chosen(numbers: Numbers, at: Sequence[int]) -> Degrees:
    readings = {
        n: t for n in at if numbers.roles[n] is Role.READ and (t := _temperature(numbers, n))
    }
    settings = {
        n: t
        for n in at
        if numbers.roles[n] is Role.SET and (t := _temperature(numbers, n)) and not _is_mark(t)
    }
    of_two = (
        f for name in ("to_and_fro", "either") for f in numbers.seen.standing(numbers.line, name)
    )
    either = [f for f in of_two if set(f.numbers) <= set(readings)]
    between: tuple[Temperature, ...] = ()
    if either:
        between = tuple(readings.pop(n) for n in either[0].numbers if n in readings)
    room_at = _room(numbers, readings)
    set_at = max(settings, default=None)
    spans = tuple(
        Span(numbers.words[n].start, numbers.words[n].end, what)
        for n, what in ((room_at, "room_temp"), (set_at, "setpoint"))
        if n is not None
    )
    return Degrees(
        room=None if room_at is None else readings[room_at],
        setpoint=None if set_at is None else settings[set_at],
        between=between,
        wished=_last_of(numbers, "wish"),
        felt=_last_of(numbers, "felt"),
        spans=spans,
    )


def _is_mark(setting: Temperature) -> bool:
    """ "Knob set to 5": no thermostat is set so low, but a valve has marks."""
    return setting.unit == "C" and setting.value < _LOWEST_SETTING_C


def _last_of(numbers: Numbers, name: str) -> Temperature | None:
    held = [n for n in numbers.held_by(name) if numbers.roles[n] is Role.NONE]
    outdoor = numbers.held_by("outdoor")
    held = [n for n in held if n not in outdoor]
    return _temperature(numbers, held[-1]) if held else None


def _room(numbers: Numbers, readings: dict[int, Temperature]) -> int | None:
    """The reading that counts: told as of now, else of the room complained of, else the last."""
    if not readings:
        return None
    now = [n for n in readings if n in numbers.now and _says_now(numbers, n)]
    if now:
        return now[-1]
    rooms_named = sum(numbers.line.is_a(g, "ROOM") for g in range(len(numbers.line.groups)))
    if len(readings) > 1 and rooms_named:
        if Kind.TOO_COLD in numbers.kinds and Kind.TOO_HOT not in numbers.kinds:
            return min(readings, key=lambda n: readings[n].fahrenheit)
        if Kind.TOO_HOT in numbers.kinds:
            return max(readings, key=lambda n: readings[n].fahrenheit)
        return max(readings, key=lambda n: abs(readings[n].fahrenheit - _USUAL_F))
    cued = [n for n in readings if n in numbers.cued]
    return (cued or list(readings))[-1]


def _says_now(numbers: Numbers, number: int) -> bool:
    group = numbers.line.group_of(number)
    near = range(max(0, group - 3), min(len(numbers.line.groups), group + 4))
    return any(numbers.line.is_a(g, "ATNOW") for g in near)


def is_at_setting(degrees: Degrees) -> bool:
    """Whether a reading beside its setting says that all is well."""
    room, setpoint = degrees.room, degrees.setpoint
    if room is None or setpoint is None:
        return False
    return abs(room.fahrenheit - setpoint.fahrenheit) < _OFF_SETTING_F


def kinds_of_degrees(degrees: Degrees, told: Collection[Kind]) -> set[Kind]:
    """What numbers alone say of the room, unless words have ``told`` already."""
    if Kind.TOO_COLD in told or Kind.TOO_HOT in told:
        return set()
    if degrees.between:
        low, high = sorted(t.fahrenheit for t in degrees.between)[
            :: max(1, len(degrees.between) - 1)
        ][:2]
        return {
            kind for kind, holds in ((Kind.TOO_COLD, low < 68), (Kind.TOO_HOT, high > 74)) if holds
        }
    shown = degrees.room or degrees.felt
    if shown is None:
        return set()
    room = shown.fahrenheit
    aim = degrees.setpoint or degrees.wished
    if aim is not None:
        off = room - aim.fahrenheit
        if abs(off) >= _OFF_SETTING_F:
            return {Kind.TOO_HOT if off > 0 else Kind.TOO_COLD}
        return set()
    if room < _COLD_BELOW_F:
        return {Kind.TOO_COLD}
    return {Kind.TOO_HOT} if room > _HOT_ABOVE_F else set()
