"""How people write the number on a door, and doors that cannot be told apart in writing."""

from __future__ import annotations

import re

from rules.plant.files.fields import Record
from rules.plant.files.yaml_text import Written

__all__ = ["as_written", "note_alike"]

_NOT_SAID = re.compile(r"[^0-9A-Z]")


def as_written(apartment: str) -> str:
    """What is left of an apartment whichever way it is written: "4-b", "#4B" and "04B" are "4B"."""
    return _NOT_SAID.sub("", apartment.upper()).lstrip("0")


def note_alike(written: Written, building: Record) -> None:
    """Warn of apartments that no text can tell apart: the first in the file is always taken."""
    first: dict[str, str] = {}
    for home in building["apartments"]:
        name = home["id"]
        if name is None:
            continue
        other = first.setdefault(as_written(name), name)
        if other == name:  # the same id twice is refused with the other double ids
            continue
        written.problems.add(
            home.at("id"),
            f"Apartments '{other}' and '{name}' cannot be told apart in a text.",
            f"Give one of them another id; else who writes '{name}' may be taken for '{other}'.",
            fatal=False,
        )
