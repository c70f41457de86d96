"""What visits say of a home that found nothing when it told of the same before.

Theory of operation
-------------------
A fault that is there is mostly found by whoever measures (``rules/data/visits.yaml``). So a home that
reports the same again, after visits that found nothing, has less likely a fault of its own that such a
visit would have shown, and likelier one that comes and goes, or wants it otherwise than it is. That it
told in vain before says as well that it has a lasting reason of its own: so its word counts for less
where a fault that others share is looked for.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from rules.data import table
from rules.diagnosis.exact import Floats
from rules.diagnosis.keys import collapse, feature
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.said import Said
from rules.faults.candidates import Candidate
from rules.model import Evidence, RoomRead, Visited

__all__ = ["visits_said"]


def visits_said(kind: HomeClass, said: Sequence[Evidence]) -> list[tuple[str, Said]]:
    """Each of the last visits to a home as a source, by what it would have missed."""
    visits = [(e.source, e.fact) for e in said if isinstance(e.fact, Visited)]
    if not visits or _is_worse(said):
        return []
    chances = table("visits")
    last = visits[-chances["most_counted"] :]
    return [(source, _said(kind, v.readings >= chances["measured_from"])) for source, v in last]


def _is_worse(said: Sequence[Evidence]) -> bool:
    """Whether the room told last is one that no visit leaves with nothing found."""
    told = [e.fact.room_f for e in said if isinstance(e.fact, RoomRead)]
    last = next((room_f for room_f in reversed(told) if room_f is not None), None)
    low, high = table("visits")["room_f"]
    return last is not None and not low <= last <= high


def _said(kind: HomeClass, measured: bool) -> Said:
    def missed() -> tuple[Floats, Floats]:
        nothing = float(table("visits")["no_reason_of_its_own"])
        own = np.array([nothing, *(_missed(c, measured) for c in kind.local)])
        return np.zeros(kind.shape[0]), own

    keys = collapse(kind, [feature(kind, ("visited", measured), missed)])
    return Said(keys, missed()[1][keys.own][None, None, :])


def _missed(candidate: Candidate, measured: bool) -> float:
    """Chance that a visit finds nothing where this fault is there."""
    chances = table("visits")
    if candidate.fault in chances["nothing_to_find"]:
        return 1.0
    found = float(chances["missed"]["measured" if measured else "looked"])
    if candidate.row is None:
        return max(found, float(chances["missed_something_else"]))
    if candidate.fault in chances["comes_and_goes"]:
        return max(found, float(chances["missed_what_comes_and_goes"]))
    return found
