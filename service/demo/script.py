"""The demo's script: buildings, households, weather and what people write, from ``fixtures``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import yaml

__all__ = ["Line", "Script", "read_script"]


@dataclass(frozen=True, slots=True)
class Line:
    """One text that somebody sends of their own accord, and how they answer questions."""

    at: datetime
    sender: str
    via: str  # "smtp" or "http"
    text: str
    answers: Mapping[str, str]  # topic -> what they write back


@dataclass(frozen=True, slots=True)
class Script:
    """All that happens in the night."""

    starts: datetime
    ends: datetime
    building_files: tuple[Path, ...]
    households: Path
    weather: tuple[dict[str, Any], ...]  # hours as the weather call takes them
    lines: tuple[Line, ...]


def read_script(folder: Path) -> Script:
    """Read the portfolio and its night from the project's fixtures.

    Raises:
        FileNotFoundError: they are not there.
    """
    night = yaml.safe_load((folder / "night.yaml").read_text(encoding="utf-8"))
    starts, ends = night["starts"], night["ends"]
    portfolio = folder / "portfolio"
    return Script(
        starts=starts,
        ends=ends,
        building_files=tuple(sorted(portfolio.glob("*.yaml"))),
        households=portfolio / "households.csv",
        weather=tuple(_weather(night)),
        lines=tuple(_line(row, starts) for row in night["texts"]),
    )


def _weather(night: Mapping[str, Any]) -> list[dict[str, Any]]:
    starts: datetime = night["starts"]
    inside = night["outdoor_f"]
    hours = [(h, float(night["day_before_f"])) for h in range(-24, 0)]
    hours += [(h, float(f)) for h, f in enumerate(inside)]
    hours += [(h, float(night["day_after_f"])) for h in range(len(inside), len(inside) + 24)]
    return [{"at": (starts + timedelta(hours=h)).isoformat(), "outdoor_f": f} for h, f in hours]


def _line(row: Mapping[str, Any], starts: datetime) -> Line:
    hour, minute = (int(part) for part in row["at"].split(":"))
    at = starts.replace(hour=hour, minute=minute)
    if at < starts:  # past midnight
        at += timedelta(days=1)
    return Line(at, row["from"], row["via"], row["text"], row.get("answers", {}))
