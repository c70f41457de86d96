"""Section 1 and 2 of the outside contract: the program at a terminal."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
import yaml
from program import ROLES, Issued, run, serving
from shapes import check_problem
from tenants import building

HEADER = "building,apartment,name,mobile,email,language,care\n"


@pytest.fixture(scope="module")
def system_clock_answers(
    issued: Issued, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, int]:
    """What a service with the system's clock says to those who want to move it."""
    folder = tmp_path_factory.mktemp("system")
    shutil.copytree(issued.state, folder / "state")
    with serving(folder, issued.tokens, clock="system") as program:
        got = program.call("GET", "/api/v1/clock", "owner")
        put = program.call("PUT", "/api/v1/clock", "owner", json={"now": "2040-01-01T00:00:00Z"})
        check_problem(got, got.status_code)
        check_problem(put, put.status_code)
        return {"GET": got.status_code, "PUT": put.status_code}


def test_the_system_clock_cannot_be_read_or_moved(system_clock_answers: dict[str, int]) -> None:
    """Both calls answer 404."""
    assert system_clock_answers == {"GET": 404, "PUT": 404}


def test_a_token_is_shown_for_each_role(issued: Issued) -> None:
    """One word on standard output, different for everybody."""
    assert set(issued.tokens) == set(ROLES)
    assert all(re.fullmatch(r"\S{20,}", token) for token in issued.tokens.values())
    assert len(set(issued.tokens.values())) == len(ROLES)


def test_a_token_needs_a_role_that_exists(tmp_path: Path) -> None:
    """Nothing is shown for a role nobody has."""
    done = run(tmp_path, "token", "--role", "janitor")
    assert done.returncode != 0
    assert done.stdout.strip() == ""


@pytest.mark.parametrize("command", [["serve"], ["doctor"]])
def test_a_variable_nobody_reads_stops_the_start(tmp_path: Path, command: list[str]) -> None:
    """It is named, so that the spelling can be put right."""
    done = run(tmp_path, *command, ENDSWITCH_DATABSE_URL="sqlite:///x.db")
    assert done.returncode != 0
    assert "ENDSWITCH_DATABSE_URL" in done.stderr + done.stdout
    assert "Traceback" not in done.stderr


def test_the_doctor_says_what_is_there(tmp_path: Path) -> None:
    """In words, without a trace of code."""
    done = run(tmp_path, "doctor")
    assert done.stdout.strip()
    assert "Traceback" not in done.stderr


def files(folder: Path) -> tuple[Path, Path]:
    """A building and its households, all right."""
    house, people = folder / "mill-1.yaml", folder / "households.csv"
    house.write_text(yaml.safe_dump(building("mill-1"), sort_keys=False))
    people.write_text(HEADER + "mill-1,1A,Somebody,+12125550110,,es,infant;over65\n")
    return house, people


def test_files_are_loaded_once_and_again(tmp_path: Path) -> None:
    """Files by name, or the folder; a second time is no problem."""
    (tmp_path / "files").mkdir()
    house, people = files(tmp_path / "files")
    done = run(tmp_path / "state", "load", str(house), str(people))
    assert done.returncode == 0, done.stderr
    again = run(tmp_path / "state", "load", str(tmp_path / "files"))
    assert again.returncode == 0, again.stderr


def test_every_problem_is_printed_with_file_and_line(tmp_path: Path) -> None:
    """Several in one file and one in another; nothing is stored of either."""
    house, people = files(tmp_path)
    text = house.read_text()
    text = text.replace("America/New_York", "America/Nowhere").replace("us-ny-nyc", "us-nowhere")
    text = text.replace("source: boiler-1", "source: boiler-9", 1) + "colour: red\n"
    house.write_text(text)
    people.write_text(people.read_text() + "mill-1,9Z,Nobody,+12125550111,,en,giant\n")
    lines = text.splitlines()
    wanted = [
        next(n for n, line in enumerate(lines, 1) if word in line)
        for word in ("America/Nowhere", "us-nowhere", "boiler-9", "colour: red")
    ]

    done = run(tmp_path / "state", "load", str(house), str(people))

    told = done.stdout + done.stderr
    assert done.returncode != 0
    for line in wanted:
        assert re.search(rf"{re.escape(str(house))}\D{{1,10}}{line}\b", told), (line, told)
    assert "boiler-9" in told
    assert "Traceback" not in told


def test_the_lines_of_a_households_file_are_named(tmp_path: Path) -> None:
    """The building is all right, two of its household rows are not."""
    house, people = files(tmp_path)
    people.write_text(
        people.read_text() + "mill-1,9Z,Nobody,+12125550111,,en,\n" + "mill-1,1B,Nobody,12,,en,\n"
    )
    done = run(tmp_path / "state", "load", str(house), str(people))
    told = done.stdout + done.stderr
    assert done.returncode != 0
    for line in (3, 4):
        assert re.search(rf"{re.escape(str(people))}\D{{1,10}}{line}\b", told), told
