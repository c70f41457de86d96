"""Evaluations and benchmarks, which live beside the tests of a checkout and not in the package."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path
from typing import Any

__all__ = ["ROOT", "NotACheckoutError", "from_tests"]

ROOT = Path(__file__).resolve().parents[2]


class NotACheckoutError(RuntimeError):
    """The tests (or what they need) are not installed here."""


def from_tests(module: str) -> Any:
    """A module of the ``tests`` folder.

    Raises:
        NotACheckoutError: this is no checkout, or the test requirements are missing.
    """
    if not (ROOT / "tests").is_dir():
        raise NotACheckoutError("evaluations and benchmarks need a checkout of the project")
    # The service's tests find their helpers by plain names, in their own folder.
    for folder in (str(ROOT / "tests" / "service"), str(ROOT)):
        if folder not in sys.path:
            sys.path.insert(0, folder)
    try:
        return importlib.import_module(f"tests.{module}")
    except ModuleNotFoundError as missing:
        raise NotACheckoutError(
            f"{missing.name} is missing; install deploy/requirements-test.txt"
        ) from missing
