"""What to have at hand for some checks."""

from __future__ import annotations

from collections.abc import Iterable

from rules.data import table
from rules.faults.catalogue import checks
from rules.model import CheckId

__all__ = ["tools_for"]


def tools_for(wanted: Iterable[CheckId]) -> tuple[str, ...]:
    """The tools of checks in their order, each once; without what everybody has on oneself.

    A check that the catalogue does not know (an old ticket's) needs none that we could name.
    """
    known = checks()
    named = (tool for check in wanted if check in known for tool in known[check].tools)
    return tuple(dict.fromkeys(t for t in named if t not in table("tools")["on_oneself"]))
