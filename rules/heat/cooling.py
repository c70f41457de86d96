"""How a home cools when its heat is gone.

Theory of operation
-------------------
A home is one lump of heat that leaks to its surroundings: its temperature runs towards an
equilibrium (outdoors, raised by neighbours, people and sun) as exp(-t / tau). Air, furniture and
emitters follow faster than the walls, so within the first hours a home drops by more than the slow
law says; whoever promises the hour of passing a limit takes that first drop off the start
(``after_fast_drop``), or promises it hours too late. Formulas are standard heat balance; degrees
Fahrenheit and hours.
"""

from __future__ import annotations

from math import log

import numpy as np

from rules.heat.columns import Rows

__all__ = ["after_fast_drop", "equilibrium_f", "hours_until", "lead_left"]


def equilibrium_f(
    outdoor_f: float,
    outdoor_ua: float,
    neighbours: tuple[tuple[float, float], ...] = (),
    gain_btuh: float = 0.0,
) -> float:
    """Where a home settles: outdoors and neighbours weighted by their UA (Btu/h-F), plus free heat.

    ``neighbours`` holds (temperature in F, UA) of each adjoining home.
    """
    total_ua = outdoor_ua + sum(ua for _, ua in neighbours)
    if total_ua <= 0:
        raise ValueError("a home without heat loss has no equilibrium")
    flow = outdoor_ua * outdoor_f + sum(ua * at_f for at_f, ua in neighbours) + gain_btuh
    return flow / total_ua


def lead_left(hours: float | Rows, time_constant_hours: Rows | float) -> Rows:
    """Share of its lead over the equilibrium that a home still has some hours later."""
    left: Rows = np.exp(-hours / np.asarray(time_constant_hours, dtype=np.float64))
    return left


def hours_until(
    threshold_f: float, start_f: float, equilibrium_f: float, time_constant_hours: float
) -> float | None:
    """When a cooling home reaches a threshold; 0 if it is there already, None if it never is."""
    if time_constant_hours <= 0:
        raise ValueError(f"time constant {time_constant_hours} h must be positive")
    if start_f <= threshold_f:
        return 0.0
    if equilibrium_f >= threshold_f:
        return None
    return time_constant_hours * log((start_f - equilibrium_f) / (threshold_f - equilibrium_f))


def after_fast_drop(start_f: float, fast_drop_f: float, equilibrium_f: float) -> float:
    """The start of the slow law once air and furniture have followed, not past equilibrium."""
    return min(start_f, max(start_f - fast_drop_f, equilibrium_f))
