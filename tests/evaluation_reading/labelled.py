"""Labelled messages, and a reading brought into the same shape, so that both are sets of values."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rules.model import Temperature, TopicId
from rules.reading import Reading

__all__ = ["LABELS", "UNSEEN", "Labelled", "load_messages", "values_of"]

# The files that nobody who works on the reader has looked at, and that nothing learns from.
UNSEEN = frozenset(
    f"scoring_unseen{hand}" for hand in ("", "_sixth", "_fifteenth", "_eighteenth", "_twentysixth")
)

LABELS = (
    "language",
    "intent",
    "kinds",
    "danger",
    "room_temp",
    "setpoint",
    "noise",
    "care",
    "emitter",
    "window_open",
    "thermostat_blank",
    "rooms",
)


@dataclass(frozen=True)
class Labelled:
    """One message and, for each label, the values somebody gave it."""

    name: str
    text: str
    asked: TopicId | None  # the question that it answers, if that is on record
    values: Mapping[str, frozenset[str]]


def load_messages(path: Path) -> list[Labelled]:
    """The messages of one file, in its order."""
    lines = path.read_text(encoding="utf-8").splitlines()
    return [_labelled(path.stem, json.loads(line)) for line in lines if line.strip()]


def values_of(reading: Reading) -> dict[str, frozenset[str]]:
    """What was read, label by label."""
    return {label: _values(label, getattr(reading, label)) for label in LABELS}


def _labelled(part: str, row: dict[str, Any]) -> Labelled:
    return Labelled(
        name=f"{part} {row['id']}",
        text=row["text"],
        asked=TopicId(row["asked"]) if row.get("asked") else None,
        values={label: _values(label, row[label]) for label in LABELS},
    )


def _values(label: str, value: Any) -> frozenset[str]:
    if label == "danger":
        return frozenset({"danger"} if value else ())
    if value is None:
        return frozenset()
    if isinstance(value, Temperature):
        return frozenset({f"{value.value:g} {value.unit}"})
    if isinstance(value, dict):
        return frozenset({f"{value['value']:g} {value['unit']}"})
    if isinstance(value, bool):
        return frozenset({"yes" if value else "no"})
    if isinstance(value, str):
        return frozenset({str(value)})
    return frozenset(str(each) for each in value)
