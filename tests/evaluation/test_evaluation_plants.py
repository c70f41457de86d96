"""Made-up buildings, weather and breakdowns are varied, valid, and the same for the same seed."""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
import pytest

from rules.faults.catalogue import checks, faults, parts

from .breakdowns import breakdowns, draw_case
from .plants import SERIES, TOPOLOGIES, random_building
from .weather import random_days

HERE = Path(__file__).parent


@pytest.fixture(scope="module")
def made():
    """A hundred and fifty buildings."""
    rng = np.random.default_rng(1)
    return [random_building(rng) for _ in range(150)]


def test_all_topologies_and_sizes_come_up(made):
    """Every topology, one to four loops by floor or riser, one to three boilers, 4 to 40 homes."""
    sizes = [len(m.plant.apartments) for m in made]

    assert {m.topology for m in made} == {*TOPOLOGIES, SERIES}
    assert {len(m.plant.heat_sources) for m in made} == {1, 2, 3}
    assert {m.loops_by for m in made} == {"floor", "riser", "home"}
    assert min(sizes) >= 4
    assert max(sizes) <= 40
    assert {len(m.plant.loops) for m in made if m.loops_by != "home"} >= {1, 2, 3}


def test_a_seed_makes_the_same_building_again():
    """Two generators with one seed draw one building."""
    first, second = (random_building(np.random.default_rng(9)).plant.document() for _ in range(2))

    assert first == second


def test_at_least_45_breakdowns_are_known_by_the_catalogue_at_the_same_place():
    """Truth and diagnosis speak of the same faults, components, checks and parts."""
    rows = breakdowns()

    assert len(rows) >= 45
    assert {i for i in rows if i not in faults() or faults()[i].at != rows[i].at} == set()
    assert {p for row in rows.values() for p in row.parts} <= set(parts())


def test_what_breakdowns_read_is_in_the_words_of_the_check():
    """A word is one of the check's outcomes, a figure goes to a check that shows figures."""
    wrong = [
        (row.id, check)
        for row in breakdowns().values()
        for check, told in row.reads.items()
        if (told not in checks()[check].outcomes)
        == (isinstance(told, str) or bool(checks()[check].outcomes))
    ]

    assert wrong == []


def test_old_valves_break_more_often_than_new_ones():
    """The hazard grows with age as the trade's list says (shape 2, median 12 years)."""
    rng = np.random.default_rng(2)
    days = random_days(rng, 48)
    building = next(
        m for m in (random_building(rng) for _ in range(99)) if m.topology == "four_wire"
    )
    drawn = [
        draw_case(rng, building.plant, days, group="equipment", steps=(0, 9)) for _ in range(4000)
    ]
    installed = {a.id: a.valve.installed for a in building.plant.apartments}
    broke = [installed[c.home] for c in drawn if c.row.id == "valve_motor_dead"]
    ages = [(days.start.date() - d).days for d in installed.values()]

    assert np.mean([(days.start.date() - d).days for d in broke]) > np.mean(ages)


def test_the_simulated_world_shares_nothing_with_the_model_under_test():
    """No module but the players and scorers imports the diagnosis; none imports its physics."""
    allowed = {"episodes.py", "scoring.py"}
    banned = (
        "rules.heat",
        "rules.faults.priors",
        "rules.faults.effects",
        "rules.faults.candidates",
    )
    found = []
    for path in HERE.glob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        names = [n.module or "" for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)]
        found += [(path.name, n) for n in names if n.startswith(banned)]
        if path.name not in allowed and not path.name.startswith("test_"):
            found += [(path.name, n) for n in names if n.startswith("rules.diagnosis")]

    assert found == []
