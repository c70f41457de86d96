"""Volt-amperes of the 24 V side."""

from __future__ import annotations

from typing import Any

import pytest

from rules.model import ComponentId
from rules.plant import Circuit, Plant, read_building_yaml, transformer_load
from tests.houses import a_bare_home, a_home, a_house, a_loop, a_valve, built, places


def test_the_load_counts_valves_and_relays(two_loops: Plant) -> None:
    """A motor valve of unknown draw counts 7 VA, a heat motor 20, a relay 5 (value from memory)."""
    assert transformer_load(two_loops, ComponentId("xf-left")).load_va == 7 + 20 + 5
    assert transformer_load(two_loops, ComponentId("xf-right")).share == pytest.approx(0.12)


@pytest.mark.parametrize(
    ("va", "words"),
    [
        ("14", "12 VA when all call (86%)"),
        ("11", "12 VA when all call (109%)"),
        ("15", None),
        (None, None),
    ],
)
def test_a_heavy_load_is_a_warning(example: str, va: str | None, words: str | None) -> None:
    """A transformer past its rating, or past 80 % of it, is told at its line but taken."""
    size = f"va: {va}, " if va else ""
    plant, problems = read_building_yaml(example.replace("va: 40, ", size))
    assert plant is not None
    if words is None:
        assert problems == ()
        return
    (problem,) = problems
    assert words in problem.detail
    assert (problem.pointer, problem.line, problem.fatal) == ("/transformers/0/va", 19, False)


def test_a_load_without_nameplate_has_no_share(example: str) -> None:
    """What cannot be compared is neither past its rating nor within it."""
    plant, _ = read_building_yaml(example.replace("va: 40, ", ""))
    assert plant is not None
    load = transformer_load(plant, ComponentId("xf-1"))
    assert (load.load_va, load.share, load.is_past_rating) == (12, None, False)


def circuits(homes: list[dict[str, Any]], loops: list[dict[str, Any]], va: float) -> set[Circuit]:
    """What each home of a house hangs on, whose transformers are all of one size."""
    house = built(a_house(homes, loops, transformers=("xf-1", "xf-2"), va=va))
    found = [house.circuit_of(home) for home in house.apartments]
    assert None not in found
    return {circuit for circuit in found if circuit is not None}


@pytest.mark.parametrize(("valve_va", "held"), [(5, 6), (6, 5), (7.7, 4), (8, 4)])
def test_a_transformer_in_trouble_holds_what_four_fifths_of_it_carry(
    valve_va: float, held: int
) -> None:
    """Valves on 40 VA at 80 % loading: the trade divides one by the other (published trade column)."""
    valves = [a_home(*at, valve=a_valve(va=valve_va)) for at in places(2, "ABCD")]

    assert circuits(valves, [a_loop(transformer="xf-2")], 40) == {Circuit(8, held)}


def test_the_relay_of_a_loop_takes_its_part_first() -> None:
    """Six valves of 6.5 VA and a relay of 5 VA want 44 of 40 VA (trade notes): 27 are left of 32."""
    valves = [a_home(*at, valve=a_valve(va=6.5)) for at in places(2, "ABC")]

    assert circuits(valves, [a_loop()], 40) == {Circuit(6, 4)}


def test_homes_with_pumps_of_their_own_hang_on_their_relays() -> None:
    """Ten relays of 5 VA want 50 of 40 VA: six of them are 30 of 32."""
    homes = [
        a_bare_home(*at, on=n, zoning="zone_circulator")
        for n, at in enumerate(places(2, "ABCDE"), start=1)
    ]

    assert circuits(homes, [a_loop(n) for n in range(1, 11)], 40) == {Circuit(10, 6)}


@pytest.mark.parametrize("va", [55, 100, None])
def test_what_leaves_a_margin_with_all_calling_tells_no_number(va: float | None) -> None:
    """44 VA are four fifths of 55; if such a one is overloaded, more hangs on it than is written."""
    valves = [a_home(*at, valve=a_valve(va=6.5)) for at in places(2, "ABC")]

    assert circuits(valves, [a_loop()], va) == {Circuit(6, None)}
