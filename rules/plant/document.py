"""A plant written back as the building file it could have been read from."""

from __future__ import annotations

from dataclasses import fields
from datetime import date
from typing import TYPE_CHECKING, Any

from rules.plant.vocabulary import SCHEMA

if TYPE_CHECKING:
    from rules.plant.building import Plant

__all__ = ["document_of"]


def document_of(plant: Plant) -> dict[str, Any]:
    """The canonical document: contract order of keys, nothing left out but what is unknown."""
    return {"schema": SCHEMA, **_record(plant, {"id": "building"})}


def _record(part: Any, renamed: dict[str, str]) -> dict[str, Any]:
    """The fields of a part under the names a building file uses."""
    written = {
        renamed.get(field.name, field.name): _value(getattr(part, field.name))
        for field in fields(part)
        if field.metadata.get("in_file", True)
    }
    return {name: value for name, value in written.items() if value is not None}


def _value(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_record(part, {}) for part in value]
    if isinstance(value, date):
        return value.isoformat()
    if value is None or isinstance(value, str | int | float):
        return value
    return _record(value, {})
