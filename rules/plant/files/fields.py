"""Checks of single fields of a document from outside; each notes what is wrong with its field."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from rules.plant.files.problem import below, listed, nearest
from rules.plant.files.yaml_text import Written

__all__ = [
    "Field",
    "Record",
    "Spec",
    "day",
    "number",
    "read_record",
    "record",
    "records",
    "text",
    "whole",
    "word",
]

Reader = Callable[[Written, str, Any], Any]
MOST_ENTRIES = 2_000
_DAY = re.compile(r"(\d{4})(?:-(\d{1,2}))?(?:-(\d{1,2}))?")


@dataclass(frozen=True, slots=True)
class Field:
    """How one key is read, and what it is needed for if it may not be left out."""

    read: Reader
    needed: str | None = None
    default: Any = None


Spec = Mapping[str, Field]


@dataclass(slots=True)
class Record:
    """What could be read of one mapping; a key that was left out or wrong holds None."""

    pointer: str
    values: dict[str, Any]
    given: frozenset[str] = frozenset()

    def __getitem__(self, key: str) -> Any:
        return self.values[key]

    def at(self, key: str) -> str:
        """The JSON pointer of one of its keys."""
        return below(self.pointer, key)

    def part(self, key: str, **values: Any) -> Record:
        """A record to stand under one of its keys that was left out."""
        return Record(self.at(key), values)

    def was_wrong(self, key: str) -> bool:
        """Whether the key was given but could not be taken (and that has been said already)."""
        return self.values[key] is None and key in self.given


def read_record(written: Written, pointer: str, value: Any, spec: Spec) -> Record | None:
    """A mapping read by its spec; unknown and missing keys are noted."""
    if not isinstance(value, Mapping):
        wanted = f"Write it as keys with values: {', '.join(spec)}."
        written.problems.add(
            pointer, f"{_shown(value)} stands where a group of keys is wanted.", wanted
        )
        return None
    unknown = [str(key) for key in value if key not in spec]
    meant = {_note_unknown_key(written, below(pointer, key), key, spec) for key in unknown}
    values = {}
    for key, field in spec.items():
        given = value.get(key)
        if given is None:
            values[key] = field.default
            if field.needed and key not in meant:  # a misspelt key is not missing as well
                written.problems.add(below(pointer, key), f"'{key}' is missing.", field.needed)
        else:
            values[key] = field.read(written, below(pointer, key), given)
    return Record(pointer, values, frozenset(str(key) for key in value if value[key] is not None))


def _note_unknown_key(written: Written, pointer: str, key: str, spec: Spec) -> str | None:
    """Note it, and give back the key it was most likely meant to be."""
    meant = nearest(key, spec)
    remedy = f"Did you mean '{meant}'?" if meant else f"Known keys here: {', '.join(spec)}."
    written.problems.add(pointer, f"'{key[:60]}' is not a known key.", remedy)
    return meant


def record(spec: Spec) -> Reader:
    """A nested mapping."""
    return lambda written, pointer, value: read_record(written, pointer, value, spec)


def records(spec: Spec, *, at_least: int = 0) -> Reader:
    """A list of mappings; entries that are none are noted and dropped."""

    def read(written: Written, pointer: str, value: Any) -> list[Record]:
        if not isinstance(value, list | tuple):
            remedy = "Write a list, each entry starting with '- '."
            written.problems.add(pointer, f"{_shown(value)} stands where a list is wanted.", remedy)
            return []
        if len(value) < at_least:
            written.problems.add(pointer, "The list is empty.", f"Give at least {at_least} entry.")
        if len(value) > MOST_ENTRIES:
            detail = f"The list has {len(value)} entries."
            written.problems.add(pointer, detail, f"At most {MOST_ENTRIES} are taken.")
            return []
        read_each = (read_record(written, below(pointer, n), v, spec) for n, v in enumerate(value))
        return [entry for entry in read_each if entry is not None]

    return read


def text(*, longest: int = 120, pattern: str | None = None, says: str = "") -> Reader:
    """Words on one line; an unquoted YAML scalar is taken as it is written."""
    matches = re.compile(pattern) if pattern else None

    def read(written: Written, pointer: str, value: Any) -> str | None:
        if not isinstance(value, str):
            if pointer not in written.texts:
                remedy = (
                    "Write it in quotation marks."
                    if _is_scalar(value)
                    else "Write one word or name."
                )
                written.problems.add(
                    pointer, f"{_shown(value)} stands where a text is wanted.", remedy
                )
                return None
            value = written.texts[pointer]
        value = value.strip()
        if not value or len(value) > longest or not value.isprintable():
            remedy = f"Write one line of 1 to {longest} letters."
            written.problems.add(pointer, f"{_shown(value)} is no usable text.", remedy)
            return None
        if matches and not matches.fullmatch(value):
            written.problems.add(pointer, f"{_shown(value)} is no valid id.", says)
            return None
        return str(value)

    return read


def word(choices: Iterable[str]) -> Reader:
    """One of a few words."""
    known = tuple(choices)

    def read(written: Written, pointer: str, value: Any) -> str | None:
        given = written.texts.get(pointer) if not isinstance(value, str) else value
        if given in known:
            return given
        meant = nearest(given, known) if given else None
        remedy = f"Did you mean {meant}? " if meant else ""
        written.problems.add(
            pointer, f"{_shown(value)} is not known here.", f"{remedy}Write {listed(known)}."
        )
        return None

    return read


def number(lowest: float, highest: float, unit: str) -> Reader:
    """A number between two bounds."""

    def read(written: Written, pointer: str, value: Any) -> float | None:
        if isinstance(value, bool) or not isinstance(value, int | float):
            remedy = f"Write a number of {unit}, without quotation marks or unit."
            written.problems.add(pointer, f"{_shown(value)} is not a number.", remedy)
            return None
        if not lowest <= value <= highest:  # false for "not a number" too
            remedy = f"Give {lowest:g} to {highest:,.15g} {unit}."
            written.problems.add(pointer, f"{_shown(value)} {unit} cannot be right.", remedy)
            return None
        return float(value)

    return read


def whole(lowest: int, highest: int, unit: str) -> Reader:
    """A whole number between two bounds."""
    as_number = number(lowest, highest, unit)

    def read(written: Written, pointer: str, value: Any) -> int | None:
        if not isinstance(value, float) or value == value // 1:
            found = as_number(written, pointer, value)
            return None if found is None else int(found)
        written.problems.add(pointer, f"{_shown(value)} is not whole.", f"Give whole {unit}.")
        return None

    return read


def day(earliest: int = 1850, latest: int = 2100) -> Reader:
    """A date, or the month or year that is known of one, which stands for its first day."""

    def read(written: Written, pointer: str, value: Any) -> date | None:
        is_year = isinstance(value, int) and 0 <= value <= 9_999
        given = str(value) if is_year or type(value) is date else value
        found = _DAY.fullmatch(given.strip()) if isinstance(given, str) else None
        try:
            parts = [int(part) for part in found.groups(default="1")] if found else [0, 0, 0]
            when = date(*parts)
        except ValueError:
            when = None
        if when is not None and earliest <= when.year <= latest:
            return when
        remedy = f"Write 2012, 2012-08 or 2012-08-15, between {earliest} and {latest}."
        written.problems.add(pointer, f"{_shown(value)} is not a date.", remedy)
        return None

    return read


def _is_scalar(value: Any) -> bool:
    return isinstance(value, str | int | float | date)


def _shown(value: Any) -> str:
    """A value as it can be quoted back, cut to a readable length."""
    if isinstance(value, Mapping):
        return "A group of keys"
    if isinstance(value, list | tuple):
        return "A list"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int) and abs(value) > 10**20:
        return "A very large number"
    shown = str(value)
    return f"'{shown[:60]}…'" if len(shown) > 60 else f"'{shown}'"
