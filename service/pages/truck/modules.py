"""The truck's JavaScript modules under one address, with the hash of all of them.

So they find each other by relative imports, and none is ever older than the rest.
"""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.resources import files

__all__ = ["module_body", "module_names", "modules_digest", "shell_url"]


@cache
def _modules() -> dict[str, bytes]:
    folder = files("service.pages.truck").joinpath("static")
    return {
        entry.name: _bare(entry.read_bytes())
        for entry in folder.iterdir()
        if entry.name.endswith(".js")
    }


def _bare(script: bytes) -> bytes:
    """Without the lines that are comments alone: a phone on a poor link does not read them."""
    lines = script.splitlines(keepends=True)
    return b"".join(line for line in lines if not line.lstrip().startswith(b"//"))


@cache
def modules_digest() -> str:
    """The hash of all modules."""
    every = b"\0".join(name.encode() + b"\0" + body for name, body in sorted(_modules().items()))
    return hashlib.sha256(every).hexdigest()[:16]


def module_names() -> tuple[str, ...]:
    """All modules."""
    return tuple(sorted(_modules()))


def module_body(name: str) -> bytes | None:
    """A module; None if there is none of that name."""
    return _modules().get(name)


def shell_url(name: str) -> str:
    """The address of a module.

    Raises:
        KeyError: there is none of that name.
    """
    if name not in _modules():
        raise KeyError(name)
    return f"/truck/static/{modules_digest()}/{name}"
