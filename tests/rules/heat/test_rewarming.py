"""How long to wait for warmth after a repair: common practice, no source."""

from __future__ import annotations

import pytest

from rules.heat.rewarming import rewarming_hours


@pytest.mark.parametrize(
    ("room_f", "hours"), [(70.0, 1.0), (68.0, 1.0), (62.0, 4.0), (None, 4.0), (48.0, 8.0)]
)
def test_two_degrees_an_hour_after_the_first(room_f, hours):
    """A room that is warm waits for its radiator alone; nobody waits for more than eight hours."""
    assert rewarming_hours(room_f) == pytest.approx(hours)
