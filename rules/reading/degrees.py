"""Which number in a text is the room's temperature and which is what the thermostat is set to.

Theory of operation
-------------------
Every number gets one role. First what it certainly is (an age, an hour, an apartment; "58 in here"),
then outdoor, felt, past and wished values, then set or read, whichever cue stands nearer. What is left
is a reading if it can be a room temperature at all. Numbers without a unit are Celsius from 15 to 30
and Fahrenheit from 40 to 110; a bare number below 40 needs a cue that it is a temperature.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal

from rules.model import Kind, Temperature
from rules.reading.phrases import Found, Line, Section, section
from rules.reading.seen import Span
from rules.reading.words import Sort, Word

__all__ = ["Degrees", "degrees_in"]

# Rooms and thermostats lie between these whatever the unit given.
_F_RANGE = (25.0, 125.0)
_C_RANGE = (-5.0, 50.0)
# Of two rooms the one farther from this is complained of, if nothing else tells.
_USUAL_F = 70.0


class _Role(StrEnum):
    READ = "read"
    SET = "set"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Degrees:
    """The current reading and setting, and what was wished for; ``between``: "either 78 or 64"."""

    room: Temperature | None = None
    setpoint: Temperature | None = None
    between: tuple[Temperature, ...] = ()
    wished: Temperature | None = None
    spans: tuple[Span, ...] = ()


@dataclass(slots=True)
class _Numbers:
    """The numbers of a text while their roles are being settled."""

    words: Sequence[Word]
    seen: Section
    line: Line
    kinds: Collection[Kind]
    roles: dict[int, _Role] = field(default_factory=dict)
    cued: set[int] = field(default_factory=set)
    now: set[int] = field(default_factory=set)

    def held_by(self, name: str) -> dict[int, Found]:
        held: dict[int, Found] = {}
        for found in self.seen.standing(self.line, name):
            for number in found.numbers:
                known = held.get(number)
                if known is None or found.last - found.first < known.last - known.first:
                    held[number] = found
        return held


def degrees_in(words: Sequence[Word], kinds: Collection[Kind]) -> Degrees:
    """The temperatures told; ``kinds`` decide between two rooms and between odd units."""
    at = [i for i, word in enumerate(words) if word.sort is Sort.NUMBER and word.value is not None]
    if not at:
        return Degrees()
    seen = section("numbers")
    numbers = _Numbers(words, seen, seen.line(words), kinds)
    if numbers.line.says(seen["unsure_which"]):
        return Degrees()
    _settle(numbers, at)
    return _chosen(numbers, at)


def _settle(numbers: _Numbers, at: Sequence[int]) -> None:
    for number in numbers.held_by("not_temperature"):
        numbers.roles[number] = _Role.NONE
    for number in numbers.held_by("felt"):
        numbers.roles.setdefault(number, _Role.NONE)
    for number, found in numbers.held_by("here").items():
        numbers.roles.setdefault(number, _Role.READ)
        numbers.cued.add(number)
        numbers.now.add(found.numbers[0])
    for number in numbers.held_by("outdoor"):
        numbers.roles.setdefault(number, _Role.NONE)
    _settle_by_nearest_cue(numbers)
    for number in at:
        if number not in numbers.roles:
            numbers.roles[number] = _Role.READ if _may_be_bare(numbers, number) else _Role.NONE
    readings = {number for number in at if numbers.roles[number] is _Role.READ}
    for number in numbers.held_by("bare_thermostat"):
        # "Thermostat 72" beside another reading is the setting.
        if number in readings and len(readings) > 1:
            numbers.roles[number] = _Role.SET
            readings.discard(number)


def _settle_by_nearest_cue(numbers: _Numbers) -> None:
    set_to, read = numbers.held_by("set"), numbers.held_by("read")
    wished, past = numbers.held_by("wish"), numbers.held_by("past")
    for number, found in numbers.held_by("be").items():
        if number not in set_to:
            read.setdefault(number, found)
    for number in (*set_to, *read, *wished, *past):
        if number in numbers.roles:
            continue
        lengths = {
            role: found.last - found.first
            for role, found in (
                (_Role.SET, set_to.get(number)),
                (_Role.READ, read.get(number)),
            )
            if found is not None
        }
        not_now = number in past and _Role.SET not in lengths
        if not_now or (number in wished and number not in set_to):
            numbers.roles[number] = _Role.NONE
        else:
            role = min(lengths, key=lambda r: lengths[r]) if lengths else _Role.NONE
            numbers.roles[number] = role
            numbers.cued.add(number)


def _may_be_bare(numbers: _Numbers, number: int) -> bool:
    """A number with no cue is a reading if it has a degree sign or can hardly be anything else."""
    value = numbers.words[number].value or 0.0
    return _unit_after(numbers.line, number) != "" or 40 <= value <= 110


def _unit_after(line: Line, number: int) -> str:
    """ "F", "C", "degrees" or nothing, from the words right after a number."""
    found = ""
    group = line.group_of(number)
    for after in range(group + 1, min(group + 4, len(line.groups))):
        if line.is_a(after, "UNITF"):
            return "F"
        if line.is_a(after, "UNITC"):
            return "C"
        if not line.is_a(after, "DEGREES"):
            break
        found = "degrees"
    return found


def _temperature(numbers: _Numbers, number: int) -> Temperature | None:
    value = numbers.words[number].value or 0.0
    unit = _unit(numbers, number, value)
    if unit is None or _is_door(numbers.words, number, value):
        return None
    low, high = _F_RANGE if unit == "F" else _C_RANGE
    return Temperature(value, unit) if low <= value <= high else None


def _is_door(words: Sequence[Word], number: int, value: float) -> bool:
    """ "3C", "2F" and "5B" are doors of a building, "18C" and "62F" temperatures."""
    following = words[number + 1] if number + 1 < len(words) else None
    if following is None or len(following.text) != 1 or not following.text.isalpha():
        return False
    if following.text in "cf":
        return value < (10 if following.text == "c" else 32)
    return following.glued


def _unit(numbers: _Numbers, number: int, value: float) -> Literal["F", "C"] | None:
    said = _unit_after(numbers.line, number)
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


def _chosen(numbers: _Numbers, at: Sequence[int]) -> Degrees:
    readings = {
        n: t for n in at if numbers.roles[n] is _Role.READ and (t := _temperature(numbers, n))
    }
    settings = {
        n: t for n in at if numbers.roles[n] is _Role.SET and (t := _temperature(numbers, n))
    }
    either = [
        f for f in numbers.line.find(numbers.seen["either"]) if set(f.numbers) <= set(readings)
    ]
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
        wished=_wished(numbers),
        spans=spans,
    )


def _wished(numbers: _Numbers) -> Temperature | None:
    wished = [n for n in numbers.held_by("wish") if numbers.roles[n] is _Role.NONE]
    return _temperature(numbers, wished[-1]) if wished else None


def _room(numbers: _Numbers, readings: dict[int, Temperature]) -> int | None:
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


def _says_now(numbers: _Numbers, number: int) -> bool:
    group = numbers.line.group_of(number)
    near = range(max(0, group - 3), min(len(numbers.line.groups), group + 4))
    return any(numbers.line.is_a(g, "ATNOW") for g in near)
