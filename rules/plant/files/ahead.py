"""Dates in a building file that lie ahead of the day on which it is read."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from rules.plant.files.fields import Record
from rules.plant.files.references import named
from rules.plant.files.yaml_text import Written

__all__ = ["note_ahead"]


def note_ahead(written: Written, building: Record, now: datetime) -> None:
    """Warn of parts that are not installed yet: their age is taken to be nothing."""
    if building["timezone"] is None:
        return
    today = now.astimezone(ZoneInfo(building["timezone"])).date()
    for kind, part in named(building):
        installed = part["installed"] if "installed" in part.given else None
        if installed is not None and installed > today:
            written.problems.add(
                part.at("installed"),
                f"The {kind} {part['id']} is said to be installed on {installed}, which lies ahead.",
                "Check the year; until then it is taken to be new.",
                fatal=False,
            )
