"""The command line: a command in this process, or, where that is the point, in one of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from typer.testing import CliRunner, Result

from service.__main__ import app

__all__ = ["endswitch", "program"]

OURS = [name for name in os.environ if name.startswith("ENDSWITCH_")]


def endswitch(state: Path, *words: str, **variables: str) -> Result:
    """A command with a state folder and no other settings but these; a crash is raised."""
    environment: dict[str, str | None] = dict.fromkeys(OURS)
    environment |= {"ENDSWITCH_STATE": str(state)} | variables
    return CliRunner().invoke(app, words, env=environment, catch_exceptions=False)


def program(state: Path, *words: str, **variables: str) -> subprocess.CompletedProcess[str]:
    """The same as the shell runs it."""
    clean = {name: value for name, value in os.environ.items() if name not in OURS}
    return subprocess.run(
        [sys.executable, "-m", "service", *words],
        env=clean | {"ENDSWITCH_STATE": str(state)} | variables,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
