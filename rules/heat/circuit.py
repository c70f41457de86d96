"""A 24 V series circuit as a meter sees it: source, switches, and one load.

Theory of operation
-------------------
A closed switch has no resistance worth measuring and shows about 0 V; the load of a complete circuit
shows the source's voltage. Where exactly one element is open no current flows, so nothing drops
anywhere else and the whole source voltage stands across the gap. With no source everything reads 0.
With two gaps the part between them floats and a meter's reading means nothing.

The rule is published trade teaching (articles on reading voltage across switches), not ours.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

__all__ = ["Element", "volts_across"]


@dataclass(frozen=True, slots=True)
class Element:
    """One element of a series circuit; an open load is a broken winding."""

    name: str
    kind: Literal["switch", "load"]
    is_open: bool = False


def volts_across(source_v: float, elements: Sequence[Element]) -> dict[str, float | None]:
    """What a meter shows across each element, in volts; None where the reading means nothing.

    Raises:
        ValueError: not exactly one load (a series circuit without one is a short), or a name twice.
    """
    if sum(e.kind == "load" for e in elements) != 1:
        raise ValueError("a series circuit has exactly one load")
    if len({e.name for e in elements}) != len(elements):
        raise ValueError("every element needs a name of its own")
    gaps = [e.name for e in elements if e.is_open]
    if source_v == 0:
        return {e.name: 0.0 for e in elements}
    if len(gaps) > 1:
        return {e.name: None if e.is_open else 0.0 for e in elements}
    across = gaps[0] if gaps else next(e.name for e in elements if e.kind == "load")
    return {e.name: source_v if e.name == across else 0.0 for e in elements}
