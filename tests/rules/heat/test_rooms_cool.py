"""How fast rooms cool when heat stops: one dead home, a dead loop of two, the whole house.

Values are those of a two-node calculation of a two-loop masonry house (time constant about 50 h), as a
heating engineer has them at hand: computed, order of magnitude, no source.
"""

from __future__ import annotations

import numpy as np
import pytest

from rules.heat.control import Delivered
from rules.heat.rooms import FELT_OF_HEAT, Climate, approached, fast_drop_f, settle

NO_HEAT = Delivered(np.zeros(1), np.zeros(1))
TAU_HOURS = 52.0


def without_heat(outdoor_f: float, hours: float, warm_neighbours: float) -> float:
    """Temperature of a home, 70 F at the onset, so many hours after its heat stopped."""
    course = settle(
        NO_HEAT,
        Climate(outdoor_f, 13.0, TAU_HOURS),
        set_f=70.0,
        loss=np.ones(1),
        gain_f=np.zeros(1),
        offset_f=np.zeros(1),
        neighbours_f=70.0,
        neighbour_share=warm_neighbours,
    )
    return float(course.room_f(hours)[0])


@pytest.mark.parametrize(("outdoor_f", "drop_f"), [(45, 1.5), (20, 3.0), (5, 4.0)])
def test_the_air_drops_first_by_so_much(outdoor_f: float, drop_f: float) -> None:
    """1.5 F at 45 F, 3 F at 20 F, 4 F at 5 F outdoors within the first hours."""
    assert fast_drop_f(Climate(outdoor_f, 13.0, TAU_HOURS)) == pytest.approx(drop_f, abs=0.3)


@pytest.mark.parametrize("outdoor_f", [5, 20, 45])
def test_the_first_drop_is_the_same_for_one_home_and_for_all(outdoor_f: float) -> None:
    """Neighbours hold walls, not air: the first hour does not tell a dead valve from a dead boiler."""
    alone, all_together = (without_heat(outdoor_f, 1.0, warm) for warm in (1.0, 0.0))

    assert alone == pytest.approx(all_together, abs=0.2)
    assert without_heat(outdoor_f, 24.0, 1.0) > without_heat(outdoor_f, 24.0, 0.0) + 1


def test_a_house_a_day_without_heat_at_20_f() -> None:
    """52.5 F after 24 hours at 20 F outdoors."""
    assert without_heat(20, 24.0, 0.0) == pytest.approx(52.5, abs=1.5)


def test_a_dead_loop_of_two_after_two_days_at_5_f() -> None:
    """41 to 45 F where every other floor is warm."""
    assert 41 - 0.5 <= without_heat(5, 48.0, 0.5) <= 45


def test_cold_is_felt_before_the_thermometer_shows_it() -> None:
    """Nothing warm stands in the room any more; in the end both are the same."""
    tau = np.array(TAU_HOURS)
    air, felt = (
        [float(approached(h, tau, TAU_HOURS, *share)) for h in (1.0, 6.0, 400.0)]
        for share in ((), (FELT_OF_HEAT,))
    )

    assert felt[0] > air[0]
    assert felt[1] > air[1]
    assert felt[2] == pytest.approx(air[2], abs=1e-3)
