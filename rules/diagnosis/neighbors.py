"""What one home says of another: "4B has none either", "3A has heat".

Theory of operation
-------------------
It speaks of what the named home feels, so it weighs the shared states by how much of its heat they take
from that home, or force upon it. People speak of what they have heard, and half of "everybody" is not
everybody: the chances lie nearer to each other than those of what a home says of itself
(``neighbor_said`` in ``answers.yaml``). That the named home is so for a reason of its own is part of
the mistakes. Nothing of it becomes a report of that home, and nothing of it is told there. A home that
says of itself that it is right, as it is asked after a repair, knows better (``said_of_itself``).
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from rules.data import table
from rules.diagnosis.exact import Floats
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.space import Space
from rules.model import Evidence, Kind, NeighborSaid

__all__ = ["neighbor_term", "told_of_others"]

# Share of full heat from which on nobody says that a home has none, or idle that it is too hot.
_HEAT_ENOUGH = 0.5


def told_of_others(space: Space, evidence: Iterable[Evidence]) -> list[tuple[str, NeighborSaid]]:
    """What homes said of others that the plant has, by source; the last word of each on each counts."""
    told = [(e.at, e.source, e.fact) for e in evidence if isinstance(e.fact, NeighborSaid)]
    last = {
        (fact.apartment, fact.other): (source, fact)
        for _, source, fact in sorted(told, key=lambda one: one[:2])
        if fact.other in space.ordinary
    }
    return list(last.values())


def neighbor_term(space: Space, said: NeighborSaid) -> tuple[Floats, tuple[int, ...]]:
    """Log likelihood of the shared states, (shared states,), and the candidates that it speaks of."""
    kind = space.ordinary[said.other].kind
    of_whom = "said_of_itself" if said.apartment == said.other else "neighbor_said"
    chances = table("answers")[of_whom]
    felt, means = _felt(kind, said.kind), "same" if said.same else "not"
    by_look = np.log(chances["fine"][means] * (1 - felt) + chances["felt"][means] * felt)
    return by_look.take(kind.look_of_state), tuple(kind.singles[0].tolist())


def _felt(kind: HomeClass, trouble: Kind) -> Floats:
    """From 0 to 1 how much of the trouble each look brings to a home without a fault of its own."""
    course, healthy = kind.course, kind.pattern_of_own[0]
    heat = course.heat.idle if trouble is Kind.TOO_HOT else course.heat.calling
    by_pattern = np.broadcast_to(heat, course.final_f.shape)[:, healthy] / _HEAT_ENOUGH
    share = np.clip(by_pattern if trouble is Kind.TOO_HOT else 1 - by_pattern, 0.0, 1.0)
    return np.asarray(share.take(kind.pattern_of_look))
