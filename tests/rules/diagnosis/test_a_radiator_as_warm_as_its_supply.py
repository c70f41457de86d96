"""What an emitter shows that gives all it is given, on a boiler that follows the weather."""

from __future__ import annotations

import pytest

from rules.diagnosis.measuring import chance
from rules.faults.catalogue import faults
from rules.model import CheckId, ComponentId, FaultId, Found

SHOWN = Found(CheckId("emitter_temps"), ComponentId("1A"), outcome="as_warm_as_supply")


# In mild weather all working radiators of such a boiler are only warm, whatever else is the matter:
# common practice, no source.
@pytest.mark.parametrize(
    "fault",
    ["low_water_temp_misread", "window_open", "draft_infiltration", "air_conditioner_sleeve"],
)
def test_it_tells_wish_window_and_misreading_no_more_apart(fault):
    """A radiator as warm as its supply fits all that leaves it alone alike."""
    wish, other = (
        [r for r in faults()[FaultId(name)].checks if r.check == SHOWN.check]
        for name in ("expectation_set_point", fault)
    )

    assert chance(other, SHOWN) == chance(wish, SHOWN)


def test_it_clears_the_radiator():
    """A radiator with a shut valve or with air in it is not as warm as its supply to its end."""
    cold = [r for r in faults()[FaultId("emitter_shut")].checks if r.check == SHOWN.check]

    assert chance(cold, SHOWN) < chance([], SHOWN) / 10
