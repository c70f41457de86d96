"""Doors that no text can tell apart, and words about ids. How people write them: common practice."""

from __future__ import annotations

from typing import Any

import pytest

from rules.plant import Plant, Problem, read_building_document
from rules.plant.files.doors import as_written


def second_home(quarry: Plant, name: str) -> tuple[Plant | None, tuple[Problem, ...]]:
    """What is said of the example with a second apartment of that name."""
    document: dict[str, Any] = quarry.document()
    first = document["apartments"][0]
    valve = {"kind": "motor_4wire", "transformer": "xf-1"}
    document["apartments"].append(
        first | {"id": name, "valve": valve, "thermostat": {"kind": "battery"}}
    )
    return read_building_document(document)


@pytest.mark.parametrize("name", ["1a", "1-A", "01A", "#1 a"])
def test_doors_that_are_written_alike_are_warned_of(quarry: Plant, name: str) -> None:
    """The file is taken; which two, and where, is said."""
    plant, (problem,) = second_home(quarry, name)

    assert plant is not None
    assert (problem.pointer, problem.fatal) == ("/apartments/1/id", False)
    assert problem.detail == f"Apartments '1A' and '{name}' cannot be told apart in a text."


@pytest.mark.parametrize("name", ["1B", "11A", "A1", "1AA", "10A"])
def test_other_doors_are_not(quarry: Plant, name: str) -> None:
    """Another letter, number or order is another door."""
    plant, problems = second_home(quarry, name)

    assert plant is not None
    assert problems == ()


def test_the_same_id_twice_is_refused_in_good_english(quarry: Plant) -> None:
    """Two homes of one id are no warning; it is "an apartment"."""
    plant, problems = second_home(quarry, "1A")

    assert plant is None
    assert [p.detail for p in problems if p.pointer == "/apartments/1/id"] == [
        "The id '1A' of an apartment already names the apartment at /apartments/0/id."
    ]


def test_a_door_is_the_same_however_it_is_written() -> None:
    """Signs, small letters and leading zeros say nothing."""
    assert {as_written(said) for said in ("4B", "#4b", "4-b", "04 B")} == {"4B"}
