"""The tables of danger, ready for use: what is looked for, what takes it back, what the ear knows."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from rules.data import table
from rules.reading.concepts import Concepts
from rules.reading.ear import Ear, ear_of
from rules.reading.signs import Sign, Signs, listed, parsed_signs

__all__ = ["DangerKind", "DangerTable", "danger_table"]

_PATTERN = re.Pattern[str]
_SCOPES = (
    "past",
    "long_past",
    "cleared",
    "not_cleared",
    "again",
    "gone",
    "of_heat",
    "of_danger",
    "elsewhere",
    "here",
)
_WORDS_OF_SCOPE = (
    "negators",
    "negators_after",
    "light",
    "units",
    "degrees",
    "shows",
    "goes_on_after_stop",
)


@dataclass(frozen=True, slots=True)
class DangerKind:
    """What tells of one kind of danger beside its signs, what explains it away and takes it back."""

    says: tuple[_PATTERN, ...]
    plainly: tuple[_PATTERN, ...]
    explained: tuple[Sign, ...]
    taken_back_by: Mapping[str, tuple[_PATTERN, ...]]


@dataclass(frozen=True, slots=True)
class DangerTable:
    """``danger.yaml``, ``danger_words.yaml`` and ``danger_ear.yaml``."""

    concepts: Concepts
    composed: Signs
    signs: Signs
    words: Mapping[str, frozenset[str]]
    harmless: tuple[_PATTERN, ...]
    goes_on: tuple[tuple[_PATTERN, str], ...]
    may_go_on: _PATTERN
    kinds: Mapping[str, DangerKind]
    scopes: Mapping[str, _PATTERN]
    ear: Ear


@cache
def danger_table() -> DangerTable:
    """The tables, read once per process."""
    raw = table("danger")
    concepts = Concepts(table("danger_words"), raw["hides"], listed(raw["spelt_right"]))
    known = concepts.names | set(raw["composed"])
    return DangerTable(
        concepts=concepts,
        composed=_signs(raw["composed"], known),
        signs=_signs({kind: row["signs"] for kind, row in raw["kinds"].items()}, known),
        words={name: listed(raw[name]) for name in _WORDS_OF_SCOPE},
        harmless=_joined(raw["harmless"]),
        goes_on=tuple((re.compile(pattern), word) for pattern, word in raw["goes_on"]),
        may_go_on=re.compile("|".join(pattern for pattern, _ in raw["goes_on"])),
        kinds={kind: _kind(row, known) for kind, row in raw["kinds"].items()},
        scopes={name: re.compile(raw[name]) for name in _SCOPES},
        ear=ear_of(table("danger_ear"), listed(raw["unweighed"])),
    )


def _joined(patterns: Sequence[str]) -> tuple[_PATTERN, ...]:
    """Few patterns for many; those that begin with a word are tried at beginnings of words alone."""
    at_word = [pattern for pattern in patterns if pattern.startswith(r"\b")]
    others = [pattern for pattern in patterns if not pattern.startswith(r"\b")]
    words = [rf"\b(?=\w)(?:{'|'.join(at_word)})"] if at_word else []
    return tuple(re.compile(joined) for joined in (*words, "|".join(others)) if joined)


def _signs(rows: Mapping[str, Iterable[str]], known: Collection[str]) -> Signs:
    return Signs({name: parsed_signs(listed_signs, known) for name, listed_signs in rows.items()})


def _kind(row: Mapping[str, Any], known: Collection[str]) -> DangerKind:
    patterns = {
        name: tuple(re.compile(pattern) for pattern in listed_patterns)
        for name, listed_patterns in row.items()
        if name not in ("signs", "explained")
    }
    explained = parsed_signs(row.get("explained", ()), known)
    return DangerKind(patterns.pop("says", ()), patterns.pop("plainly", ()), explained, patterns)
