"""How likely a fault is to be there before anybody said anything.

Theory of operation
-------------------
A fault that arises at some rate and is mended when it is noticed is present, unnoticed, for about
``WINDOW_DAYS``. Wear makes the rate grow with age as in a Weibull law whose value at 0.6 of the median
life is the stated rate; where one's own parts have taught another median, the law is theirs. Static
conditions (a badly placed thermostat) are always there; what counts is the chance that they make
somebody write within the same window.

Like parts of one building fail together more often than chance has it: they share age, make, summer
and supply. A share ``beta`` of the failures of each comes from what they share (the beta factor of
IEC 61508-6: common rate beta x rate, own rate (1 - beta) x rate).
"""

from __future__ import annotations

import math
from datetime import date
from functools import cache
from typing import overload

import numpy as np
from numpy.typing import NDArray

from rules.data import table
from rules.faults.rows import Fault, Wear

__all__ = [
    "WINDOW_DAYS",
    "age_factor",
    "beta_factor",
    "beta_of_points",
    "failure_within_a_year",
    "in_season_start",
    "prior",
    "split_by_cause",
]

Floats = NDArray[np.float64]

WINDOW_DAYS = 21.0
# The share of a heating season's static conditions that make somebody write within one window.
STATIC_SHARE = 0.06
_CLIP = (0.2, 5.0)
_AGE_OF_STATED_RATE = 0.6


def age_factor(wear: Wear | None, age_years: float | None, life: float = 1.0) -> float:
    """What age makes of the stated rate; 1 where a part does not wear.

    Args:
        wear: Weibull law of the table.
        age_years: of the part; where nobody knows it, the age at which the stated rate holds.
        life: median life that one's own parts have taught, over that of the table. A hazard
            (k / eta) (t / eta)^(k - 1) goes with the power -k of the life.
    """
    if wear is None:
        return 1.0
    stated_at = _AGE_OF_STATED_RATE * wear.median_years
    relative = 1.0 if age_years is None else max(age_years, 0.01) / stated_at
    factor = relative ** (wear.shape - 1) * life**-wear.shape
    return float(min(max(factor, _CLIP[0]), _CLIP[1]))


def failure_within_a_year(wear: Wear, age_years: float) -> float:
    """Chance that a part of this age fails in the next year, from its Weibull law.

    The scale is median / (ln 2)^(1/shape).
    """
    scale = wear.median_years / math.log(2) ** (1 / wear.shape)

    def survival(age: float) -> float:
        return math.exp(-((age / scale) ** wear.shape))

    return 1 - survival(age_years + 1) / survival(age_years)


def in_season_start(on: date) -> bool:
    """The weeks in which pumps and valves move for the first time after summer."""
    return (9, 15) <= (on.month, on.day) <= (11, 15)


def prior(
    fault: Fault, installed: date | None, on: date, life: float = 1.0, variant: str | None = None
) -> float:
    """Chance that this fault is present in one component and unrepaired on that day.

    ``life``: how long such parts have lasted against the stated median. ``variant``: kind of valve,
    thermostat or heat source.
    """
    if fault.prevalence_percent is not None:
        chance = fault.prevalence_percent / 100 * STATIC_SHARE
    else:
        assert fault.rate_per_100_years is not None  # noqa: S101 - the row's own validator saw to it
        rate = fault.rate_of_source.get(variant or "", fault.rate_per_100_years)
        chance = rate / 100 * WINDOW_DAYS / 365.25
    age = None if installed is None else (on - installed).days / 365.25
    chance *= age_factor(fault.wear, age, life)
    if in_season_start(on):
        chance *= fault.season_start_factor
    return min(chance, 0.5)


def beta_of_points(points: float) -> float:
    """Share of failures that like parts have in common, by their points of IEC 61508-6 Annex D."""
    bands = table("common_cause")["bands"]
    return float(next(beta for least, beta in bands if points >= least))


@cache
def beta_factor(at: str) -> float:
    """The same by where a fault sits; 0 where nothing is said to be shared."""
    points = table("common_cause")["points"].get(at)
    return 0.0 if points is None else beta_of_points(points)


@overload
def split_by_cause(chance: float, beta: float) -> tuple[float, float]: ...
@overload
def split_by_cause(chance: Floats, beta: Floats) -> tuple[Floats, Floats]: ...
def split_by_cause(
    chance: float | Floats, beta: float | Floats
) -> tuple[float | Floats, float | Floats]:
    """The chance that a part has failed of its own, and that it has together with its like."""
    return (1 - beta) * chance, beta * chance
