"""Typed access to the sentences we send beside the questions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from rules.data import table

__all__ = ["Saying", "degrees", "say", "sayings"]


@dataclass(frozen=True, slots=True)
class Saying:
    """One sentence in both languages and the number of segments it may take."""

    en: str
    es: str
    segments: int = 1


@cache
def sayings() -> Mapping[str, Saying]:
    """All sentences by key."""
    return MappingProxyType({key: Saying(**row) for key, row in table("sayings").items()})


def say(key: str, language: str, **values: object) -> str:
    """One sentence with its placeholders filled in; KeyError for an unknown key or placeholder."""
    row = sayings()[key]
    return (row.es if language == "es" else row.en).format(**values)


def degrees(fahrenheit: float) -> str:
    """A temperature in both scales, as it stands in a sentence of either language."""
    return f"{fahrenheit:.0f} F ({(fahrenheit - 32) / 1.8:.0f} C)"
