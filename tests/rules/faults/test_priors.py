"""Ageing and priors against published lives."""

from __future__ import annotations

from datetime import date

import pytest

from rules.faults.catalogue import Wear, faults
from rules.faults.priors import age_factor, failure_within_a_year, prior
from rules.model import FaultId


@pytest.mark.parametrize(
    ("median", "shape", "age", "chance"),
    [(20, 3, 15, 0.06056), (10, 3, 9, 0.17126), (35, 3, 30, 0.04412)],
)
def test_hazard_from_a_published_median(median, shape, age, chance):
    """Median lives of the ASHRAE chart (base pump 20, pipe pump 10, iron boiler 35 years).

    The hazards follow from the Weibull law (computed, standards collection S1).
    """
    wear = Wear(shape=shape, median_years=median)

    assert failure_within_a_year(wear, age) == pytest.approx(chance, abs=1e-5)


def test_half_have_failed_at_the_median():
    """Surviving year by year to the median has chance one half."""
    wear = Wear(shape=2.5, median_years=12)
    alive = 1.0
    for age in range(12):
        alive *= 1 - failure_within_a_year(wear, age)

    assert alive == pytest.approx(0.5, abs=1e-9)


def test_the_stated_rate_holds_at_six_tenths_of_the_median():
    """The catalogue's rates are stated for a part of 0.6 of its median life."""
    assert age_factor(Wear(shape=2, median_years=10), 6.0) == pytest.approx(1.0)


def test_older_is_likelier_within_bounds():
    """Age never lowers the chance of a wearing part, and never moves it beyond 0.2 to 5 times."""
    wear = Wear(shape=2.5, median_years=10)
    factors = [age_factor(wear, age) for age in range(60)]

    assert factors == sorted(factors)
    assert (factors[0], factors[-1]) == (0.2, 5.0)


def test_a_motorised_valve_is_due_at_about_twelve_years():
    """Common practice, no source: a motorised valve is due for replacement at about twelve years."""
    wear = faults()[FaultId("valve_motor_dead")].wear
    assert wear is not None

    assert wear.median_years == 12
    assert failure_within_a_year(wear, 12) > 2 * failure_within_a_year(wear, 4)


def test_no_single_healthy_component_is_likely_broken():
    """Every prior stays below a fifth in a window, whatever the age: most things work."""
    on = date(2027, 1, 14)

    assert all(prior(f, date(1990, 1, 1), on) < 0.2 for f in faults().values())


def test_pumps_stick_in_autumn():
    """Season start multiplies what stood still all summer."""
    pump = faults()[FaultId("pump_seized")]

    autumn, winter = (prior(pump, None, d) for d in (date(2026, 10, 10), date(2027, 1, 10)))
    assert autumn == pytest.approx(winter * pump.season_start_factor)
    assert pump.season_start_factor > 1
