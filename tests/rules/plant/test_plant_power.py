"""Volt-amperes of the 24 V side."""

from __future__ import annotations

import pytest

from rules.model import ComponentId
from rules.plant import (
    Plant,
    amps_available,
    read_building_yaml,
    transformer_load,
    valves_per_transformer,
)


def test_a_forty_va_transformer_gives_one_and_two_thirds_amperes() -> None:
    """40 VA at 24 V are 1.667 A (arithmetic; trade catalogues print 1.67)."""
    assert amps_available(40) == pytest.approx(1.667, abs=0.0005)


@pytest.mark.parametrize(
    ("valve_va", "full", "with_margin"), [(5, 8, 6), (6, 6, 5), (7.7, 5, 4), (8, 5, 4)]
)
def test_valves_a_forty_va_transformer_carries(
    valve_va: float, full: int, with_margin: int
) -> None:
    """Transformer VA divided by valve VA, as the trade counts them, at 100 and at 80 % loading."""
    assert valves_per_transformer(40, valve_va) == full
    assert valves_per_transformer(40, valve_va, loading=0.8) == with_margin


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
