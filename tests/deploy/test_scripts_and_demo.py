"""The two commands of the README, as far as they can be tried inside a test run."""

from __future__ import annotations

import io
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from rich.console import Console

from rules.faults.catalogue import checks, faults, parts
from service.demo.report import print_queue, print_ticket

ROOT = Path(__file__).resolve().parents[2]


def fake_python(folder: Path, body: str) -> dict[str, str]:
    """An environment whose ``python3`` is a small script; everything else is as it was."""
    folder.mkdir()
    program = folder / "python3"
    program.write_text(f"#!/bin/sh\n{body}\n", encoding="utf-8")
    program.chmod(0o755)
    return {**os.environ, "PATH": f"{folder}:{os.environ['PATH']}"}


@pytest.fixture
def bare_copy(tmp_path: Path) -> Path:
    """The deploy folder and the project's metadata, without a virtual environment."""
    copy = tmp_path / "copy"
    shutil.copytree(ROOT / "deploy", copy / "deploy")
    shutil.copy(ROOT / "pyproject.toml", copy)
    return copy


@pytest.mark.parametrize("script", ["demo", "test"])
def test_a_missing_venv_module_gets_one_line_that_names_the_package(bare_copy, tmp_path, script):
    """On a Debian without python3-venv both commands say which package to install, and stop."""
    no_venv = 'case "$*" in *ensurepip*) exit 1;; *) exec ' + sys.executable + ' "$@";; esac'
    environment = fake_python(tmp_path / "bin", no_venv)

    done = subprocess.run(
        ["bash", f"deploy/{script}"],
        cwd=bare_copy,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 1
    lines = (done.stdout + done.stderr).strip().splitlines()
    assert len(lines) == 1
    assert "apt install python3-venv" in lines[0]
    assert not (bare_copy / ".venv").exists()


def test_an_old_python_is_refused_in_one_line(bare_copy, tmp_path):
    """Python before 3.11 is named and refused."""
    old = 'case "$*" in *version_info*) exit 1;; --version) echo "Python 3.9.2";; *) exit 1;; esac'
    environment = fake_python(tmp_path / "bin", old)

    done = subprocess.run(
        ["bash", "deploy/demo"],
        cwd=bare_copy,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 1
    assert done.stderr.strip() == "endswitch: Python 3.11 or newer is needed, this is Python 3.9.2"


@pytest.fixture(scope="module")
def night() -> list[dict]:
    """The queue that ``endswitch demo --once`` prints."""
    done = subprocess.run(
        [sys.executable, "-m", "service", "demo", "--once"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)


def ticket_of(night, apartment):
    """The one ticket that holds an apartment."""
    (found,) = [t for t in night if apartment in t["apartments"]]
    return found


def test_the_shared_fault_is_one_ticket_with_the_right_component_in_front(night):
    """What is wrong in the script (the upper loop's circulator) is one ticket that names it."""
    ticket = ticket_of(night, "5A")

    assert ticket["apartments"] == ["4A", "5A", "5B", "6A", "6B"]
    assert (ticket["building"], ticket["scope"], ticket["component"]) == (
        "alder-14",
        "loop",
        "loop-high",
    )
    assert "pump-high" in [s["component"] for s in ticket["suspects"][:3]]


def test_single_faults_stay_apart(night):
    """The hot home, the gurgle and the bang are tickets of their own."""
    for apartment in ("2C", "2E", "2A"):
        assert ticket_of(night, apartment)["apartments"] == [apartment]

    assert ticket_of(night, "2C")["suspects"][0]["component"] == "2C.valve"


def test_danger_comes_first_and_the_silent_house_has_no_ticket(night):
    """Gas is on top of the queue; a house where nobody wrote is not in it."""
    assert night[0]["danger"]
    assert night[0]["apartments"] == ["3F"]
    assert "fern-3" not in {t["building"] for t in night}


def test_every_ticket_can_be_worked_on(night):
    """Suspects add up, checks have healthy readings, respond-by has reasons."""
    for ticket in night:
        assert sum(s["probability"] for s in ticket["suspects"]) <= 1 + 1e-9
        assert ticket["because"]
        assert all(c["healthy"] and c["tells"] for c in ticket["checks"])


def test_the_terminal_speaks_a_dispatchers_words(night):
    """No id of a check, a fault or a part; what is done, what is wrong and what is carried, in words."""
    console = Console(width=200, record=True, file=io.StringIO())
    print_queue(console, night, ZoneInfo("America/New_York"))
    for ticket in night:
        print_ticket(console, ticket, ZoneInfo("America/New_York"))
    text = console.export_text()

    ids = {*checks(), *faults(), *parts()}
    assert [name for name in ids if "_" in name and name in text] == []
    shared = ticket_of(night, "5A")
    assert shared["checks"][0]["do"] in text
    assert shared["suspects"][0]["says"] in text
    assert shared["load"][0]["says"] in text
