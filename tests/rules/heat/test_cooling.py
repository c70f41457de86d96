"""The cooling law against a measured house and its own algebra."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.heat.cooling import after_fast_drop, equilibrium_f, hours_until, lead_left

# J. Dunn, "House tau", licn.typepad.com, December 2012: a house measured in an outage, tau 16.6 h.
TAU_HOURS = 16.6

degrees = st.floats(-40, 120)
taus = st.floats(1, 300)


@pytest.mark.parametrize(
    ("start_f", "outdoor_f", "threshold_f", "hours"),
    [
        (68, 20, 62, 2.217),
        (68, 20, 55, 5.243),
        (68, 20, 40, 14.533),
        (70, 0, 55, 4.003),
        (70, 0, 32, 12.994),
    ],
)
def test_measured_house_reaches_thresholds(
    start_f: float, outdoor_f: float, threshold_f: float, hours: float
) -> None:
    """With the measured time constant the hours to each threshold are those computed from it."""
    assert hours_until(threshold_f, start_f, outdoor_f, TAU_HOURS) == pytest.approx(hours, abs=1e-3)


def test_measured_house_after_six_hours() -> None:
    """After 6 h at 20 F outside, a start of 68 F is 53.440 F (same source)."""
    assert 20 + 48 * lead_left(6, TAU_HOURS) == pytest.approx(53.440, abs=1e-3)


def test_threshold_already_passed_is_now() -> None:
    """A home already at or under the threshold reaches it at once, warm or cold outside."""
    assert hours_until(62, 62, 20, TAU_HOURS) == 0.0
    assert hours_until(62, 55, 80, TAU_HOURS) == 0.0


def test_threshold_below_equilibrium_is_never_reached() -> None:
    """A home that settles at the threshold or above never gets under it."""
    assert hours_until(62, 70, 62, TAU_HOURS) is None
    assert hours_until(62, 70, 65, TAU_HOURS) is None


def test_time_constant_must_be_positive() -> None:
    """A time constant of nothing is a mistake, not an instant drop."""
    with pytest.raises(ValueError, match="positive"):
        hours_until(62, 70, 20, 0)


def test_equilibrium_weighs_outdoors_neighbours_and_gain() -> None:
    """UA-weighted mean plus gain: (100*20 + 50*70 + 1500) / 150 = 46.667 F, by hand."""
    assert equilibrium_f(20, 100, ((70, 50),), 1500) == pytest.approx(46.667, abs=1e-3)


def test_equilibrium_needs_a_heat_loss() -> None:
    """A home that loses nothing has no equilibrium."""
    with pytest.raises(ValueError, match="heat loss"):
        equilibrium_f(20, 0)


def test_fast_drop_stops_at_equilibrium_and_never_warms() -> None:
    """The first drop is taken off the start, but the air cannot fall under what it settles at."""
    assert after_fast_drop(70, 3, 20) == 67
    assert after_fast_drop(70, 3, 69) == 69
    assert after_fast_drop(60, 3, 65) == 60


@given(start_f=degrees, equilibrium=degrees, threshold_f=degrees, tau=taus)
def test_hours_until_is_the_inverse_of_the_law(
    start_f: float, equilibrium: float, threshold_f: float, tau: float
) -> None:
    """At the hour given for a threshold, the law gives that threshold."""
    hours = hours_until(threshold_f, start_f, equilibrium, tau)
    if hours:
        then_f = equilibrium + (start_f - equilibrium) * lead_left(hours, tau)
        assert then_f == pytest.approx(threshold_f, abs=1e-6)


@given(start_f=degrees, equilibrium=degrees, drop=st.floats(0, 30), threshold_f=degrees, tau=taus)
def test_a_colder_start_is_never_later(
    start_f: float, equilibrium: float, drop: float, threshold_f: float, tau: float
) -> None:
    """A colder home reaches any threshold no later."""
    warm = hours_until(threshold_f, start_f, equilibrium, tau)
    cold = hours_until(threshold_f, start_f - drop, equilibrium, tau)
    if warm is not None:
        assert cold is not None
        assert cold <= warm + 1e-9
