"""What a home says that its thermostat is set to: how it wants to live, or what its complaint is about.

Theory of operation
-------------------
Whoever is too hot by a fault has turned the thermostat down, whoever is too cold has turned it up, or
it is left where people mostly live. A home that gets what it is set to, and complains of that, may
have it set anywhere: 80 F in a home that is too hot, or 62 F in a cold one, says that nothing is broken.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import exp, pi, sqrt

import numpy as np

from rules.data import table
from rules.diagnosis.exact import Floats
from rules.diagnosis.keys import collapse, feature
from rules.diagnosis.kinds import HomeClass
from rules.diagnosis.said import Said
from rules.model import Evidence, Kind, Reported, RoomRead

__all__ = ["held_f", "set_said", "wished_f"]

_COMFORT_F = (62.0, 76.0)
_HELD_F = 2.0


def wished_f(said: Iterable[Evidence]) -> float | None:
    """What the people of a home find comfortable, as far as they told it."""
    told = [e.fact.set_f for e in said if isinstance(e.fact, RoomRead) and e.fact.set_f is not None]
    # A thermostat turned up in despair says little about what people find comfortable.
    return None if not told else _comfort(told[-1])


def held_f(set_f: float | None, drift_f: Floats) -> Floats | float:
    """What a held room is off the comfort of its people: it follows what is set, also in despair."""
    beyond = 0.0 if set_f is None else set_f - _comfort(set_f)
    return beyond and beyond * np.maximum(1 - np.abs(drift_f) / _HELD_F, 0.0)


def set_said(home: HomeClass, reported: Reported | None, set_f: float) -> Said | None:
    """A told set point, of a home that complains of its temperature; None of another."""
    kinds = set() if reported is None else reported.kinds & {Kind.TOO_COLD, Kind.TOO_HOT}
    if len(kinds) != 1:
        return None
    (kind,) = kinds
    keys = collapse(home, [feature(home, ("by setting", kind), lambda: _by_setting(home, kind))])
    is_it = _by_setting(home, kind)[1][keys.own]
    about = table("reporting")["set_told"]
    usual_f, turned = about["usual_f"], about["turned_share"]
    towards = about["turned_f"] if kind is Kind.TOO_COLD else -about["turned_f"]
    else_where = (1 - turned) * _density(set_f - usual_f, about["spread_f"])
    else_where += turned * _density(set_f - usual_f - towards, about["turned_spread_f"])
    there = _density(set_f - usual_f, about["complaint_spread_f"])
    likely = np.where(is_it > 0, there, else_where) + about["misheard"]
    return Said(keys, np.asarray(likely)[None, None, :])


def _by_setting(home: HomeClass, kind: Kind) -> tuple[Floats, Floats]:
    """1 where a home's own fault makes its setting the complaint: by look (never), by own state."""
    own = [0.0, *(float(c.row is not None and kind in c.row.by_setting) for c in home.local)]
    return np.zeros(home.shape[0]), np.array(own)


def _comfort(set_f: float) -> float:
    return min(max(set_f, _COMFORT_F[0]), _COMFORT_F[1])


def _density(off_f: float, spread_f: float) -> float:
    return exp(-0.5 * (off_f / spread_f) ** 2) / (spread_f * sqrt(2 * pi))
