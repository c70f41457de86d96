"""At which hours of a day the warmth of a home's own cause is told: no sun shines at night."""

from __future__ import annotations

import numpy as np

from rules.data import table
from rules.diagnosis.exact import Floats
from rules.diagnosis.kinds import HomeClass
from rules.faults.rows import Felt

__all__ = ["at_its_hour", "hours_felt"]


def hours_felt(home: HomeClass) -> Floats:
    """A number for the hours at which each own state is felt, 0 for all alike; (own states,)."""
    kinds = [None, *dict.fromkeys(felt for felt in _felt(home) if felt is not None)]
    return np.array([kinds.index(felt) for felt in _felt(home)], dtype=np.float64)


def at_its_hour(home: HomeClass, hour: int) -> Floats:
    """Log of how much oftener than at any hour it is told at this local hour; (own states,)."""

    def logs() -> Floats:
        return np.log([1.0 if felt is None else _times(felt, hour) for felt in _felt(home)])

    return home.once(("at its hour", hour), logs)


def _felt(home: HomeClass) -> list[Felt | None]:
    return [None, *(None if c.row is None else c.row.felt for c in home.local)]


def _times(felt: Felt, hour: int) -> float:
    awake, day = table("reporting")["awake"], float(table("reporting")["waking_hours_a_day"])
    within = float(min(felt.to_hour, awake["to_hour"]) - max(felt.from_hour, awake["from_hour"]))
    if felt.from_hour <= hour < felt.to_hour:
        return felt.share * day / within
    return (1 - felt.share) * day / (day - within)
