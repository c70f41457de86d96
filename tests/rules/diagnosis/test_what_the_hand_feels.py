"""Answers about emitter, tap and windows under the faults that are easily taken for others.

Expected: what the trade estimates that tenants answer under each (common practice, no source); held
within a factor of two either way, or a tenth.
"""

from __future__ import annotations

import numpy as np
import pytest
from conftest import NOW, house

from rules.diagnosis.answers import replies
from rules.diagnosis.moment import Since
from rules.diagnosis.space import make_space
from rules.model import ApartmentId, TopicId
from tests.houses import built

HOME = ApartmentId("1A")
LONG_AGO = Since(np.array([36.0]), np.array([1.0]))


def chance(fault: str, topic: str, value: str, outdoor_f: float) -> float:
    """Chance of an answer under a fault of the home, or of its plant, that is there for long."""
    space = make_space(built(house()), NOW.date(), outdoor_f)
    kind = space.home_class(HOME, None, beside=False)
    own = next((k for k, c in enumerate(kind.local, start=1) if c.fault == fault), 0)
    look = kind.nothing
    if not own:
        candidates, looks = kind.singles
        names = [space.shared[n].fault for n in candidates]
        look = int(looks[names.index(fault)])
    reply = replies(space, kind, TopicId(topic))
    by_key = np.asarray(reply.chance(value, LONG_AGO))
    found = reply.keys.pick(by_key, np.array([look]), np.array([own]))
    return float(found.reshape(-1)[0])


@pytest.mark.parametrize(
    ("fault", "outdoor_f", "told"),
    [
        ("stat_reads_high", 30, {"hot": 0.40, "warm": 0.30, "cold": 0.30}),
        ("stat_reads_low", 30, {"hot": 0.55, "warm": 0.25, "cold": 0.20}),
        ("stat_schedule_or_hold", 30, {"hot": 0.25, "warm": 0.30, "cold": 0.45}),
        ("emitter_covered", 10, {"hot": 0.80, "warm": 0.15, "cold": 0.05}),
        ("emitter_dirty", 10, {"hot": 0.80, "warm": 0.15, "cold": 0.05}),
        ("window_open", 10, {"hot": 0.80, "warm": 0.15, "cold": 0.05}),
        ("valve_motor_dead", 30, {"hot": 0.03, "warm": 0.10, "cold": 0.87}),
    ],
)
def test_how_the_emitter_feels(fault: str, outdoor_f: float, told: dict[str, float]) -> None:
    """A covered one is hot; that of a thermostat which reads wrong comes and goes like any other."""
    for value, expected in told.items():
        found = chance(fault, "q_hot", value, outdoor_f)
        near = abs(found - expected) <= 0.1
        assert near or 0.5 <= found / expected <= 2, (value, found, expected)


@pytest.mark.parametrize(
    ("fault", "topic", "value", "expected"),
    [
        ("emitter_covered", "q_up", "warms", 0.88),
        ("boiler_demand_open", "q_dhw", "normal", 0.80),
        ("boiler_lockout", "q_dhw", "normal", 0.15),
        ("adjacent_heat_gain", "q_rooms", "all", 0.55),
        ("solar_gain", "q_window", "open", 0.45),
        ("pump_seized", "q_screen", "blank", 0.02),
    ],
)
def test_other_answers(fault: str, topic: str, value: str, expected: float) -> None:
    """Heat that comes from elsewhere, a boiler nobody asks, a tank whose boiler is out, a lit screen."""
    assert chance(fault, topic, value, 20) == pytest.approx(expected, abs=0.11)
