"""What a number means that stands alone, by what is known of the complaint already.

Theory of operation
-------------------
"57" in a cold home is what the room has; "70" after it is not the same room ten minutes later but what
the thermostat is set to: nobody complains of cold at 70. A number alone that would contradict the
complaint as a reading is the setting, once the reading is known; one that would contradict it as a
setting ("a 57") is the reading, as long as none is known.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace

from rules.model import Fact, Kind, RoomRead, Temperature, TopicId
from rules.reading import Reading, Span

__all__ = ["kind_of_number", "number_meant", "numbers_told"]

# A home below the one is cold, above the other hot, whoever answers "what is wrong?" with a number: heat
# laws ask for 68 by day (rules/data/heat_laws.yaml), 78 is common practice, no source.
_COLD_BELOW_F, _HOT_ABOVE_F = 68.0, 78.0

# What thermostats are usually set to, and how far a room moves while people text (common practice, no
# source).
_LOWEST_SETTING_F, _HIGHEST_SETTING_F = 64.0, 74.0
_SAME_ROOM_F = 4.0
_READINGS = frozenset({"q_read", "q_set", "q_temp2", "q_settle"})


def number_meant(
    reading: Reading, asked: TopicId | None, kinds: Collection[Kind], facts: Iterable[Fact]
) -> Reading:
    """The reading with a number that stands alone taken for what it can be."""
    room, setting = reading.room_temp, reading.setpoint
    if not reading.bare or (room is None) == (setting is None) or asked in _READINGS:
        return reading
    known_room, known_set = numbers_told(facts)
    if room is not None and known_room is not None and known_set is None:
        away = abs(room.fahrenheit - known_room) >= _SAME_ROOM_F
        return _as_setting(reading, room) if away and _can_be_set(room, kinds) else reading
    if setting is not None and known_room is None and not _can_be_set(setting, kinds):
        return _as_room(reading, setting)
    return reading


def kind_of_number(room: Temperature) -> Kind | None:
    """What is wrong with a home that is so warm; None between cold and hot."""
    if room.fahrenheit < _COLD_BELOW_F:
        return Kind.TOO_COLD
    return Kind.TOO_HOT if room.fahrenheit > _HOT_ABOVE_F else None


def _can_be_set(number: Temperature, kinds: Collection[Kind]) -> bool:
    """Whether somebody with this complaint would say of a number that it is the setting."""
    cold, hot = Kind.TOO_COLD in kinds, Kind.TOO_HOT in kinds
    if cold == hot:
        return False
    value = number.fahrenheit
    return value >= _LOWEST_SETTING_F if cold else value <= _HIGHEST_SETTING_F


def numbers_told(facts: Iterable[Fact]) -> tuple[float | None, float | None]:
    """The room and the setting in F as they were told last."""
    room = setting = None
    for fact in facts:
        if isinstance(fact, RoomRead):
            room = room if fact.room_f is None else fact.room_f
            setting = setting if fact.set_f is None else fact.set_f
    return room, setting


def _as_setting(reading: Reading, number: Temperature) -> Reading:
    spans = _renamed(reading, "room_temp", "setpoint")
    return replace(reading, room_temp=None, setpoint=number, spans=spans)


def _as_room(reading: Reading, number: Temperature) -> Reading:
    spans = _renamed(reading, "setpoint", "room_temp")
    return replace(reading, room_temp=number, setpoint=None, spans=spans)


def _renamed(reading: Reading, old: str, new: str) -> tuple[Span, ...]:
    return tuple(replace(s, what=new) if s.what == old else s for s in reading.spans)
