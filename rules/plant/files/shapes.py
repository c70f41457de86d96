"""The shape of a building file: every key, how it is read, and which cannot be left out."""

from __future__ import annotations

from functools import cache
from typing import Any
from zoneinfo import available_timezones

from rules.plant.files.fields import (
    Field,
    Reader,
    Spec,
    day,
    number,
    record,
    records,
    text,
    whole,
    word,
)
from rules.plant.files.problem import listed, nearest
from rules.plant.files.yaml_text import Written
from rules.plant.vocabulary import (
    CONSTRUCTIONS,
    CONTROLS,
    EMITTERS,
    HOT_WATERS,
    PIPINGS,
    SCHEMA,
    SOURCE_KINDS,
    THERMOSTAT_KINDS,
    VALVE_KINDS,
    ZONINGS,
    heat_rule_ids,
)

__all__ = ["BUILDING"]

_ID = Field(text(longest=40))
_INSTALLED = Field(day())
_ACCESS = Field(text(longest=200))


@cache
def _timezones() -> frozenset[str]:
    return frozenset(available_timezones())


def _timezone(written: Written, pointer: str, value: Any) -> str | None:
    name: str | None = text()(written, pointer, value)
    if name is None or name in _timezones():
        return name
    meant = nearest(name, _timezones())
    remedy = f"Did you mean {meant}?" if meant else "Write it like America/New_York."
    written.problems.add(pointer, f"The timezone '{name}' does not exist.", remedy)
    return None


def _heat_rule(written: Written, pointer: str, value: Any) -> str | None:
    name: str | None = text()(written, pointer, value)
    known = heat_rule_ids()
    if name is None or name in known:
        return name
    meant = nearest(name, known)
    remedy = f"Did you mean {meant}? " if meant else ""
    remedy += f"There are {listed(sorted(known))}."
    written.problems.add(pointer, f"There is no heat rule '{name}'.", remedy)
    return None


def _schema(written: Written, pointer: str, value: Any) -> int | None:
    if value == SCHEMA and not isinstance(value, bool | float):
        return SCHEMA
    detail = "The schema of this file is not one that is understood here."
    written.problems.add(pointer, detail, f"Write 'schema: {SCHEMA}'.")
    return None


def _choice(choices: tuple[str, ...]) -> Field:
    return Field(word(choices), needed=f"Write {listed(choices)}.")


def _id_of(what: str, read: Reader = _ID.read) -> Field:
    return Field(read, needed=f"Give the {what} an id of its own.")


_BUILDING_ID = text(
    longest=64,
    pattern="[a-z0-9-]+",
    says="Use small letters a-z, digits and hyphens only, such as 9-quarry.",
)
_STATION = text(
    longest=40, pattern="[A-Za-z0-9._-]+", says="Use letters, digits, dots and hyphens only."
)
_VALVE: Spec = {
    "id": _ID,
    "kind": _choice(VALVE_KINDS),
    "transformer": _ID,
    "va": Field(number(0.1, 200, "VA")),
    "installed": _INSTALLED,
}
_THERMOSTAT: Spec = {"id": _ID, "kind": _choice(THERMOSTAT_KINDS), "installed": _INSTALLED}
_CIRCULATOR: Spec = {"id": _ID, "installed": _INSTALLED}
_RELAY: Spec = {"id": _ID, "transformer": _ID, "installed": _INSTALLED}
_APARTMENT: Spec = {
    "id": _id_of("apartment"),
    "floor": Field(whole(-9, 200, "floors"), needed="Write the number of the floor."),
    "line": Field(text(longest=20), needed="Write the line (same letter on every floor)."),
    "emitter": _choice(EMITTERS),
    "loop": Field(
        _ID.read, needed="Name the loop that feeds it, so that a heat source reaches it."
    ),
    "zoning": _choice(ZONINGS),
    "valve": Field(record(_VALVE)),
    "thermostat": Field(record(_THERMOSTAT)),
    "circulator": Field(record(_CIRCULATOR)),
    "relay": Field(record(_RELAY)),
    "access": _ACCESS,
    "position": Field(whole(0, 2_000, "places")),
}
_LOOP: Spec = {
    "id": _id_of("loop"),
    "source": _ID,
    "circulator": Field(record(_CIRCULATOR)),
    "relay": Field(record(_RELAY)),
    "piping": Field(word(PIPINGS)),
}
_TRANSFORMER: Spec = {
    "id": _id_of("transformer"),
    "va": Field(number(1, 1_000, "VA")),
    "installed": _INSTALLED,
}
_HEAT_SOURCE: Spec = {
    "id": _id_of("heat source"),
    "kind": _choice(SOURCE_KINDS),
    "output_btuh": Field(number(1_000, 100_000_000, "Btu/h")),
    "control": _choice(CONTROLS),
    "hot_water": _choice(HOT_WATERS),
    "installed": _INSTALLED,
    "fed_by": _ID,
    "cascade": _ID,
}


def _many(spec: Spec, needed: str | None) -> Field:
    return Field(records(spec, at_least=1 if needed else 0), needed=needed, default=())


BUILDING: Spec = {
    "schema": Field(_schema, needed=f"Write 'schema: {SCHEMA}' at the top."),
    "building": _id_of("building", _BUILDING_ID),
    "name": Field(text(), needed="Write what people call the building."),
    "timezone": Field(_timezone, needed="Write it like America/New_York."),
    "heat_rule": Field(_heat_rule),
    "weather_station": Field(_STATION),
    "built": Field(whole(1600, 2100, "years")),
    "construction": _choice(CONSTRUCTIONS),
    "time_constant_hours": Field(number(1, 1_000, "hours")),
    "design_outdoor_f": Field(number(-80, 80, "F")),
    "heat_sources": _many(_HEAT_SOURCE, "List the boilers or stations that heat the building."),
    "transformers": _many(_TRANSFORMER, None),
    "loops": _many(_LOOP, "List the loops: each circulator and what it feeds."),
    "apartments": _many(_APARTMENT, "List the apartments."),
    "access": _ACCESS,
}
