"""What all homes say of every shared state, added up: given the shared state they are independent."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from rules.diagnosis.exact import Floats
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.states import States

__all__ = ["over_states"]


def over_states(states: States, onsets: int, totals: Iterable[tuple[HomeClass, Floats]]) -> Floats:
    """Log P(what all these homes said or did not | onset, shared state); (onsets, states).

    Args:
        states: of the building.
        onsets: how many there are.
        totals: of each home its class, and log P(what it said | onset, look), (onsets, looks).
    """
    # Homes of one class are added up first and spread over the states once.
    by_class: dict[HomeClass, Floats] = {}
    for kind, rows in totals:
        by_class[kind] = by_class[kind] + rows if kind in by_class else rows
    spread = (rows.take(kind.look_of_state, axis=1) for kind, rows in by_class.items())
    joint = next(spread, None)
    if joint is None:
        return np.zeros((onsets, len(states.log_prior)))
    for part in spread:
        joint += part
    return joint
