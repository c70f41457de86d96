"""Building files (YAML with lines, JSON with pointers) to a plant, or to all that is wrong."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from rules.model import BuildingId
from rules.plant.building import Plant
from rules.plant.components import (
    Apartment,
    Circulator,
    HeatSource,
    Loop,
    Relay,
    Thermostat,
    Transformer,
    Valve,
)
from rules.plant.files.ahead import note_ahead
from rules.plant.files.completion import complete
from rules.plant.files.fields import Record, read_record
from rules.plant.files.problem import Problem
from rules.plant.files.references import check_references
from rules.plant.files.shapes import BUILDING
from rules.plant.files.yaml_text import Written, read_yaml

__all__ = ["read_building_document", "read_building_yaml"]

Outcome = tuple[Plant | None, tuple[Problem, ...]]


def read_building_yaml(text: str, now: datetime | None = None) -> Outcome:
    """The plant of a YAML building file, or None, and everything found wrong with its line.

    ``now``: to be told of dates that lie ahead.
    """
    written = read_yaml(text)
    if isinstance(written, Problem):
        return None, (written,)
    return _read(written, now)


def read_building_document(doc: object, now: datetime | None = None) -> Outcome:
    """The plant of a building file sent as JSON, or what is wrong with it."""
    return _read(Written(doc), now)


def _read(written: Written, now: datetime | None) -> Outcome:
    if written.value is None:
        return None, (_empty(written),)
    building = read_record(written, "", written.value, BUILDING)
    if building is not None:
        complete(written, building)
        check_references(written, building)
        if now is not None:
            note_ahead(written, building, now)
    if building is None or written.problems.are_fatal:
        return None, written.problems.all()
    return _plant(building), written.problems.all()


def _empty(written: Written) -> Problem:
    line = written.problems.line_of("")
    remedy = "Start with 'schema: 1' and the id of the building."
    return Problem("", line, "There is no building in this file; it is empty.", remedy)


def _plant(building: Record) -> Plant:
    values = {key: value for key, value in building.values.items() if key != "schema"}
    values["id"] = BuildingId(values.pop("building"))
    values["heat_sources"] = tuple(HeatSource(**each.values) for each in building["heat_sources"])
    values["transformers"] = tuple(Transformer(**each.values) for each in building["transformers"])
    values["loops"] = tuple(_loop(each) for each in building["loops"])
    values["apartments"] = tuple(_apartment(each) for each in building["apartments"])
    return Plant(**values)


def _part(kind: type, record: Record | None) -> Any:
    return None if record is None else kind(**record.values)


def _loop(record: Record) -> Loop:
    parts = {
        "circulator": _part(Circulator, record["circulator"]),
        "relay": _part(Relay, record["relay"]),
    }
    return Loop(**{**record.values, **parts})


def _apartment(record: Record) -> Apartment:
    parts = {
        "valve": _part(Valve, record["valve"]),
        "thermostat": _part(Thermostat, record["thermostat"]),
        "circulator": _part(Circulator, record["circulator"]),
        "relay": _part(Relay, record["relay"]),
    }
    return Apartment(**{**record.values, **parts})
