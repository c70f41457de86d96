"""What each number of a text is: a reading, a setting, or no temperature of the room.

Theory of operation
-------------------
Every number gets one role. First what it certainly is (an age, an hour, an apartment; "58 in here"),
then outdoor, felt, past and wished values, then set or read, whichever cue stands nearer. What is left
is a reading if it can be a room temperature at all: from 40 to 110, with a degree sign, or, in a text
about heat or cold, from 15 to 30 and standing alone.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from rules.model import Kind
from rules.reading.line import Found, Line
from rules.reading.phrases import Section
from rules.reading.words import Words

__all__ = ["Numbers", "Role", "settle", "unit_after"]

_LOWEST_BARE_F, _HIGHEST_BARE_F = 40, 110
_LOWEST_BARE_C, _HIGHEST_BARE_C = 10, 32
# A text that is one number: below are choices of a list.
_LOWEST_WHOLE_C = 14
_HEAT = frozenset({Kind.TOO_COLD, Kind.TOO_HOT})


class Role(StrEnum):
    """What a number is to the room."""

    READ = "read"
    SET = "set"
    NONE = "none"


@dataclass(slots=True)
class Numbers:
    """The numbers of a text while their roles are being settled."""

    words: Words
    seen: Section
    line: Line
    kinds: Collection[Kind]
    roles: dict[int, Role] = field(default_factory=dict)
    cued: set[int] = field(default_factory=set)
    now: set[int] = field(default_factory=set)

    def held_by(self, name: str) -> dict[int, Found]:
        """The numbers in the phrases of a list, each with the shortest phrase that holds it."""
        held: dict[int, Found] = {}
        for found in self.seen.standing(self.line, name):
            for number in found.numbers:
                known = held.get(number)
                if known is None or found.last - found.first < known.last - known.first:
                    held[number] = found
        return held


def unit_after(line: Line, number: int) -> str:
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


def settle(numbers: Numbers, at: Sequence[int]) -> None:
    """Give every number of ``at`` its role."""
    _settle_what_is_certain(numbers)
    _settle_by_nearest_cue(numbers)
    for number in at:
        if number not in numbers.roles:
            numbers.roles[number] = Role.READ if _may_be_bare(numbers, number) else Role.NONE
    readings = {number for number in at if numbers.roles[number] is Role.READ}
    for number in _of_the_thermostat(numbers):
        # "Thermostat 72" beside another reading is the setting.
        if number in readings and len(readings) > 1:
            numbers.roles[number] = Role.SET
            readings.discard(number)
    if readings & (shown := set(numbers.held_by("by_meter"))):
        # A household's own thermometer tells of the room better than what hangs at the wall.
        numbers.roles.update(
            dict.fromkeys(_shown_at_the_wall(numbers) & readings - shown, Role.NONE)
        )
    set_to = {numbers.words[n].value: n for n in at if numbers.roles[n] is Role.SET}
    for number in readings - numbers.cued:
        # "Lo tengo en 68, si, sixty eight" says the setting twice; "too hot, 84 and set to 84" does not.
        if number > set_to.get(numbers.words[number].value, number):
            numbers.roles[number] = Role.NONE
    if not set_to and len(readings) == 2:
        _settle_pair(numbers, readings)


def _of_the_thermostat(numbers: Numbers) -> Collection[int]:
    """What a thermostat without a verb is at, or, where the room itself is told, says."""
    if numbers.line.names("METER"):
        return ()
    said = set(numbers.held_by("thermostat_says"))
    room = {n for n in numbers.held_by("room_told") if numbers.roles.get(n) is Role.READ} - said
    return (*numbers.held_by("bare_thermostat"), *(said if room else ()))


def _shown_at_the_wall(numbers: Numbers) -> set[int]:
    return {*numbers.held_by("thermostat_says"), *numbers.held_by("bare_thermostat")}


def _settle_pair(numbers: Numbers, readings: set[int]) -> None:
    """ "Dice 58 y esta en 70", "63/72": of two, the one not shown is what it is set to."""
    shown, put = numbers.held_by("told"), numbers.held_by("put")
    other = [n for n in readings if n in put and n not in shown]
    pair = next((f.numbers for f in numbers.line.find(numbers.seen["pair"])), ())
    if len(other) == 1 and readings - set(other) <= set(shown):
        numbers.roles[other[0]] = Role.SET
    elif set(pair) == readings:
        numbers.roles[max(pair)] = Role.SET


def _settle_what_is_certain(numbers: Numbers) -> None:
    set_to = numbers.held_by("set")
    _settle_two_at_once(numbers)
    for number in numbers.held_by("surely_set"):
        numbers.roles[number] = Role.SET
        numbers.cued.add(number)
    for name in ("not_temperature", "felt"):
        for number in numbers.held_by(name):
            numbers.roles.setdefault(number, Role.NONE)
    for number in numbers.held_by("was"):
        if number not in set_to:
            numbers.roles.setdefault(number, Role.NONE)
    for number, found in numbers.held_by("here").items():
        if numbers.roles.setdefault(number, Role.READ) is Role.READ:
            numbers.cued.add(number)
            numbers.now.add(found.numbers[0])
    for number in numbers.held_by("outdoor"):
        numbers.roles.setdefault(number, Role.NONE)


def _settle_two_at_once(numbers: Numbers) -> None:
    """ "Now 60, now 82" are two readings of one room; of "58, not 68" the second is none."""
    for found in numbers.seen.standing(numbers.line, "to_and_fro"):
        if all(_may_be_a_room(numbers, number) for number in found.numbers):
            numbers.roles.update(dict.fromkeys(found.numbers, Role.READ))
            numbers.cued.update(found.numbers)
    for found in numbers.seen.standing(numbers.line, "denied"):
        numbers.roles.setdefault(_denied_of(numbers, found), Role.NONE)


def _may_be_a_room(numbers: Numbers, number: int) -> bool:
    value = numbers.words[number].value or 0.0
    return _LOWEST_BARE_F <= value <= _HIGHEST_BARE_F or unit_after(numbers.line, number) != ""


def _denied_of(numbers: Numbers, found: Found) -> int:
    """Of two numbers the one after "not"."""
    first, second = found.numbers
    return first if numbers.words[first - 1].text in ("not", "no") else second


def _settle_by_nearest_cue(numbers: Numbers) -> None:
    set_to, read = numbers.held_by("set"), numbers.held_by("read")
    wished, past = numbers.held_by("wish"), numbers.held_by("past")
    free = numbers.held_by("free")
    for number, found in numbers.held_by("be").items():
        # "There are 60 stairs": what is counted is no temperature.
        if number not in set_to and number in free:
            read.setdefault(number, found)
    for number in (*set_to, *read, *wished, *past):
        if number in numbers.roles:
            continue
        lengths = {
            role: found.last - found.first
            for role, found in (
                (Role.SET, set_to.get(number)),
                (Role.READ, read.get(number)),
            )
            if found is not None
        }
        not_now = number in past and Role.SET not in lengths
        if not_now or (number in wished and number not in set_to):
            numbers.roles[number] = Role.NONE
        else:
            role = min(lengths, key=lambda r: lengths[r]) if lengths else Role.NONE
            numbers.roles[number] = role
            numbers.cued.add(number)


def _may_be_bare(numbers: Numbers, number: int) -> bool:
    """A number with no cue is a reading if it has a degree sign or can hardly be anything else."""
    value = numbers.words[number].value or 0.0
    if unit_after(numbers.line, number) != "":
        numbers.cued.add(number)
        return True
    if _LOWEST_WHOLE_C <= value <= _HIGHEST_BARE_C and number in numbers.held_by("whole"):
        return True
    if _LOWEST_BARE_C <= value <= _HIGHEST_BARE_C and _HEAT.intersection(numbers.kinds):
        return number in numbers.held_by("alone")
    return _LOWEST_BARE_F <= value <= _HIGHEST_BARE_F and number in numbers.held_by("free")
