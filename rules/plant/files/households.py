"""Who lives where and how to reach them: household rows, checked against the plants they name.

Theory of operation
-------------------
A household row ties one person to one apartment. One number may serve several apartments (a
landlord's sister, a caretaker), one apartment may have several people, and many apartments have
nobody on file; so rows are kept as they are and nothing is merged but a row given twice. Problems
name the row and the field, never the person, the number or the address.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from rules.model import ApartmentId, BuildingId, Care
from rules.plant.building import Plant
from rules.plant.files.csv_rows import COLUMNS, split_rows
from rules.plant.files.problem import Problem, Problems, below, listed, nearest
from rules.plant.files.reach_by_text import email_address, mobile_number
from rules.plant.files.yaml_text import too_large

__all__ = ["HouseholdRow", "read_household_rows", "read_households_csv"]

LANGUAGES = ("en", "es")
MOST_ROWS = 20_000
Outcome = tuple[tuple["HouseholdRow", ...], tuple[Problem, ...]]


@dataclass(frozen=True, slots=True)
class HouseholdRow:
    """One person of one apartment; at least one of mobile and email is there."""

    building: BuildingId
    apartment: ApartmentId
    name: str
    mobile: str | None
    email: str | None
    language: str
    care: frozenset[Care]


def read_households_csv(text: str, plants: Mapping[BuildingId, Plant]) -> Outcome:
    """The rows of a households file, or none and everything found wrong with its line."""
    refusal = too_large(text)
    if refusal:
        return (), (refusal,)
    lines: dict[str, int] = {}
    problems = Problems(lines)
    reader = _Rows(problems, plants, only=None)
    for number, (line, cells) in enumerate(split_rows(text, problems)):
        lines[f"/{number}"] = line
        reader.take(f"/{number}", cells)
    return reader.outcome()


def read_household_rows(rows: object, plant: Plant) -> Outcome:
    """The household rows of one building sent as JSON, or none and everything found wrong."""
    problems = Problems()
    if not isinstance(rows, list | tuple) or len(rows) > MOST_ROWS:
        problems.add("", "A list of household rows is wanted.", f"Send up to {MOST_ROWS} rows.")
        return (), problems.all()
    reader = _Rows(problems, {plant.id: plant}, only=plant.id)
    for number, row in enumerate(rows):
        pointer = below("", number)
        if isinstance(row, Mapping):
            reader.take(pointer, _cells(row, pointer, problems))
        else:
            problems.add(pointer, "This row is no group of keys.", f"Keys: {', '.join(COLUMNS)}.")
    return reader.outcome()


def _cells(row: Mapping[Any, Any], pointer: str, problems: Problems) -> dict[str, str]:
    """A JSON row as the cells of a CSV row."""
    cells = {}
    for key, value in row.items():
        if key not in COLUMNS:
            meant = nearest(str(key), COLUMNS)
            remedy = f"Did you mean '{meant}'?" if meant else f"Known keys: {', '.join(COLUMNS)}."
            problems.add(below(pointer, key), f"'{str(key)[:60]}' is not a known key.", remedy)
        elif key == "care" and isinstance(value, list | tuple):
            cells[key] = ";".join(str(word) for word in value)
        elif value is None or isinstance(value, str):
            cells[key] = value or ""
        else:
            problems.add(
                below(pointer, key), f"'{key}' is not a text.", "Write it in quotation marks."
            )
    return cells


class _Rows:
    """Takes rows one after the other; keeps the good ones and notes what is wrong with the rest."""

    def __init__(
        self, problems: Problems, plants: Mapping[BuildingId, Plant], *, only: BuildingId | None
    ) -> None:
        self._problems = problems
        self._plants = plants
        self._only = only
        self._rows: dict[HouseholdRow, None] = {}

    def outcome(self) -> Outcome:
        rows = () if self._problems.are_fatal else tuple(self._rows)
        return rows, self._problems.all()

    def take(self, pointer: str, given: Mapping[str, str]) -> None:
        cells = {column: given.get(column, "").strip() for column in COLUMNS}
        plant = self._plant(pointer, cells["building"])
        apartment = self._apartment(pointer, cells["apartment"], plant)
        self._check_name(pointer, cells["name"])
        mobile = self._contact(pointer, "mobile", cells["mobile"])
        email = self._contact(pointer, "email", cells["email"])
        if not cells["mobile"] and not cells["email"]:
            remedy = "Give a mobile number, or an email address where there is no mobile."
            self._problems.add(pointer, "Nobody can be reached by this row.", remedy)
        language = self._language(pointer, cells["language"])
        care = self._care(pointer, cells["care"])
        if plant is None or apartment is None:
            return
        row = HouseholdRow(plant.id, apartment, cells["name"], mobile, email, language, care)
        if row in self._rows:
            remedy = "Delete one of the two rows; it counts once."
            self._problems.add(pointer, "This row was given before.", remedy, fatal=False)
        self._rows[row] = None

    def _plant(self, pointer: str, building: str) -> Plant | None:
        name = BuildingId(building or self._only or "")
        if name in self._plants:
            return self._plants[name]
        where, known = below(pointer, "building"), sorted(self._plants)
        if not name:
            self._problems.add(
                where, "The building is missing.", "Write the id of its building file."
            )
            return None
        meant = nearest(name, known)
        remedy = (
            f"Did you mean {meant}?" if meant else "Load its building file with it or before it."
        )
        self._problems.add(where, f"There is no building '{name[:60]}'.", remedy)
        return None

    def _apartment(self, pointer: str, name: str, plant: Plant | None) -> ApartmentId | None:
        where = below(pointer, "apartment")
        if not name:
            self._problems.add(
                where, "The apartment is missing.", "Write its id in the building file."
            )
        if not name or plant is None:
            return None
        known = [apartment.id for apartment in plant.apartments]
        if name in known:
            return ApartmentId(name)
        same = [home for home in known if home.casefold() == name.casefold()]
        if len(same) == 1:
            return same[0]
        meant = nearest(name, known)
        remedy = f"Did you mean {meant}?" if meant else f"Its apartments are {listed(known[:12])}."
        self._problems.add(where, f"{plant.id} has no apartment '{name[:60]}'.", remedy)
        return None

    def _check_name(self, pointer: str, name: str) -> None:
        if not name or len(name) > 120 or not name.isprintable():
            remedy = "Write the name on one line, at most 120 letters."
            self._problems.add(below(pointer, "name"), "The name is missing or unusable.", remedy)

    def _contact(self, pointer: str, column: str, written: str) -> str | None:
        if not written:
            return None
        found = mobile_number(written) if column == "mobile" else email_address(written)
        if isinstance(found, str):
            return found
        self._problems.add(below(pointer, column), *found)
        return None

    def _language(self, pointer: str, written: str) -> str:
        language = written.casefold() or LANGUAGES[0]
        if language not in LANGUAGES:
            detail = f"The language '{written[:20]}' is not spoken here."
            self._problems.add(below(pointer, "language"), detail, f"Write {listed(LANGUAGES)}.")
        return language

    def _care(self, pointer: str, written: str) -> frozenset[Care]:
        return frozenset(_care_words(written, below(pointer, "care"), self._problems))


def _care_words(written: str, pointer: str, problems: Problems) -> Iterable[Care]:
    known: Sequence[str] = [str(care) for care in Care]
    for word in re.split(r"[;,|\s]+", written.casefold()):
        if word in known:
            yield Care(word)
        elif word:
            meant = nearest(word, known)
            remedy = f"Did you mean {meant}? " if meant else ""
            remedy += f"Write {listed(known)}, several with ';' between them."
            problems.add(pointer, f"The care word '{word[:40]}' is not known.", remedy)
