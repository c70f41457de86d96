"""The tables the rules decide by, as package resources; the only place in ``rules`` that reads files."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Any

import yaml

__all__ = ["rows", "table"]

# The parser in C is ten times faster where the installed library has it; both load the same values.
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@cache
def table(name: str) -> Any:
    """The parsed content of ``rules/data/<name>.yaml``; read once per process.

    Callers must not change what they get: it is shared.
    """
    text = files("rules.data").joinpath(f"{name}.yaml").read_text(encoding="utf-8")
    return _parse(text)


@cache
def rows(folder: str) -> tuple[dict[str, Any], ...]:
    """All rows of all YAML lists in ``rules/data/<folder>/``, files in name order."""
    found: list[dict[str, Any]] = []
    for entry in sorted(files("rules.data").joinpath(folder).iterdir(), key=lambda e: e.name):
        if entry.name.endswith(".yaml"):
            found.extend(_parse(entry.read_text(encoding="utf-8")) or [])
    return tuple(found)


def _parse(text: str) -> Any:
    return yaml.load(text, Loader=_LOADER)  # noqa: S506 - both are safe loaders
