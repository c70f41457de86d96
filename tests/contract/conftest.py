"""One program per test module; the tokens are made once, by the program itself."""

from __future__ import annotations

import shutil
from collections.abc import Iterator

import pytest
from program import ROLES, Issued, Program, run, serving
from tenants import building, households, number_of


@pytest.fixture(scope="session")
def issued(tmp_path_factory: pytest.TempPathFactory) -> Issued:
    """Call the program once for each role."""
    state = tmp_path_factory.mktemp("issued") / "state"
    return Issued(state, {r: run(state, "token", "--role", r).stdout.strip() for r in ROLES})


@pytest.fixture(scope="module")
def program(issued: Issued, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Program]:
    """The program, with a clock that is moved and an empty database."""
    folder = tmp_path_factory.mktemp("served")
    shutil.copytree(issued.state, folder / "state")
    with serving(folder, issued.tokens) as running:
        yield running


@pytest.fixture(scope="module")
def mill_lane(program: Program) -> Iterator[str]:
    """Seven buildings of twelve numbers each on a cold evening; the numbers of their homes 1A."""
    for n in range(7):
        program.load(building(f"mill-{n + 1}"), households(f"mill-{n + 1}", 12 * n))
    return iter([number_of(12 * n) for n in range(7)])


@pytest.fixture
def number(mill_lane: Iterator[str]) -> str:
    """The number of a home in a building where nobody has written yet."""
    return next(mill_lane)
