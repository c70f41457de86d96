"""Ways that many pairs of a look and an own state share, against every pair by itself."""

from __future__ import annotations

import numpy as np
import pytest
from conftest import NOW

from rules.diagnosis.keys import collapse, physics
from rules.diagnosis.physics import PER_F
from rules.diagnosis.space import make_space
from rules.diagnosis.ways import CALLS, HOLDS, IDLE
from rules.model import ApartmentId


@pytest.mark.parametrize("outdoor_f", [5.0, 45.0])
def test_ways_are_those_of_every_pair(plant, outdoor_f):
    """Minutes to days after the onset: the drift of a room by its own course, and what it comes to."""
    kind = make_space(plant, NOW.date(), outdoor_f).home_class(ApartmentId("2B"))
    keys = collapse(kind, [physics(kind)])
    ways, course, hours = keys.ways, keys.course, np.array([0.2, 3.0, 30.0, 100.0])

    found = ways.phase(hours)[:, ways.of_pair]
    drifts = ways.drift_f(hours)[:, ways.of_pair]

    assert len(ways.course.final_f) < 0.8 * keys.shape[0] * keys.shape[1]
    for n, since in enumerate(hours):
        drift_f = course.room_f(since) - course.set_f
        idle, calls = course.holding().at(drifts[n])
        assert drifts[n] == pytest.approx(drift_f, abs=1 / PER_F)
        assert (found[n] == np.where(idle, IDLE, np.where(calls, CALLS, HOLDS))).all()
    assert {HOLDS, IDLE, CALLS} >= set(np.unique(found)) > {HOLDS}
