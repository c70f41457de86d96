"""Typed access to the sentences we send beside the questions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from rules.data import table

__all__ = ["Saying", "say", "sayings"]


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
