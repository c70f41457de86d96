"""A tank of hot water that outlasts its boiler: taps run cold hours after the fault, all at once.

Theory of operation
-------------------
How much is drawn nobody knows: the tank runs out within so many hours of the onset, each moment of
them being as likely. Until then its homes have nothing to tell of their taps, and their silence about
them says nothing.
"""

from __future__ import annotations

import numpy as np

from rules.diagnosis.exact import Floats
from rules.diagnosis.kinds import HomeClass
from rules.heat.columns import column

__all__ = ["gone", "lasted", "lasts_hours", "most_hours"]

_NO_HOURS = 1e-3  # where nothing keeps hot water


def lasts_hours(home: HomeClass) -> Floats:
    """Hours until the tank is empty at the latest, 0 where the taps do not wait for it; (looks,).

    A boiler is nobody's own.
    """
    return home.of_rows("tap late", lambda rows: column(rows, "tap_late_hours"))[0]


def gone(hours: Floats, of_hours: Floats) -> Floats:
    """Chance that a tank that lasts so long at most is empty so many hours after the onset."""
    chance: Floats = np.minimum(hours / np.maximum(of_hours, _NO_HOURS), 1.0)
    return chance


def most_hours(home: HomeClass) -> float:
    """The same of the tank that the home hangs on, 0 where there is none."""
    return home.once("tank lasts", lambda: float(lasts_hours(home).max(initial=0.0)))


def lasted(hours: Floats, of_hours: float) -> Floats:
    """The share of the time since the onset in which it gave hot water, in the mean."""
    parts = hours / max(of_hours, _NO_HOURS)
    share: Floats = np.where(parts < 1, 1 - parts / 2, 0.5 / np.maximum(parts, 1))
    return share
