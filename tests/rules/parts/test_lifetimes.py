"""How long parts last, against published fits and the laws the update must obey."""

from __future__ import annotations

import math
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.faults.catalogue import faults
from rules.faults.priors import failure_within_a_year
from rules.faults.rows import Wear
from rules.parts.lifetimes import Life, Lives, learned, stated_lives, wear_of

# NIST/SEMATECH e-Handbook 8.4.1.3: hours to failure of ten units, ten more still working at 500 h.
# Fitted there by maximum likelihood: shape 1.7207, scale 606.5280.
FAILED = (54, 187, 216, 240, 244, 335, 361, 373, 375, 386)
SHAPE, SCALE = 1.7207, 606.5280
TESTED = [*(Life(t, failed=True) for t in FAILED), *[Life(500, failed=False)] * 10]


def test_nist_weibull_fit_with_ten_units_still_working():
    """With nothing known before, the mean rate of the NIST test gives the published scale."""
    after = learned(Lives(SHAPE, 0.0, 0.0), TESTED)

    assert after.failures == 10
    assert (after.exposure / after.failures) ** (1 / SHAPE) == pytest.approx(SCALE, rel=1e-4)


def test_nist_gamma_update_of_an_exponential():
    """Shape 1 is the gamma-exponential model: prior 2 failures in 1400 h, then 2 in 1909 h.

    NIST/SEMATECH e-Handbook 8.4.6 gives a' = a + r, b' = b + T; its example's numbers are from memory.
    """
    after = learned(Lives(1, 2, 1400), [Life(909, failed=True), Life(1000, failed=True)])

    assert (after.failures, after.exposure) == (4, 3309)


@pytest.mark.parametrize(
    ("median", "shape", "age", "chance"),
    [(20, 3, 15, 0.06056), (10, 3, 9, 0.17126), (35, 3, 30, 0.04412)],
)
def test_a_prior_that_is_certain_is_the_plain_weibull_law(median, shape, age, chance):
    """Hazards from the ASHRAE chart's medians (base pump 20, pipe pump 10, iron boiler 35 years).

    Computed from the Weibull law, standards collection S1; without doubt about the rate nothing else
    can come out.
    """
    certain = stated_lives(Wear(shape=shape, median_years=median), failures=1e7)

    assert certain.failure_within_a_year(age) == pytest.approx(chance, abs=1e-5)


@given(shape=st.floats(1, 5), median=st.floats(1, 60))
def test_half_reach_the_stated_median(shape, median):
    """Before anything is seen half of the parts reach the median life of the table."""
    lives = stated_lives(Wear(shape=shape, median_years=median))

    assert lives.median_years() == pytest.approx(median)
    assert lives.survival(median) == pytest.approx(0.5)


def test_survival_is_the_gamma_mixture_of_weibull_laws():
    """Integrating the Weibull law over the Gamma law numerically gives the closed form."""
    lives, age = Lives(2.0, 3.5, 400.0), 11.0
    step = 1e-5
    whole = sum(
        math.exp(-theta * age**2) * theta**2.5 * math.exp(-400 * theta) * step
        for theta in (step * (n + 0.5) for n in range(20_000))
    )
    expected = whole * 400**3.5 / math.gamma(3.5)

    assert lives.survival(age) == pytest.approx(expected, rel=1e-4)


def test_a_part_watched_late_adds_only_what_was_watched():
    """Watched from 10 to 12 years is the same as watched to 12 less what 10 years alone would add."""
    before = Lives(2.0, 2.0, 300.0)

    late = learned(before, [Life(12, failed=True, watched_from_years=10)])

    assert (late.failures, late.exposure) == (3.0, pytest.approx(300 + 144 - 100))


@given(st.lists(st.tuples(st.floats(0.1, 40), st.booleans()), max_size=4))
def test_order_does_not_matter(rows):
    """The same parts in any order teach the same."""
    before = stated_lives(Wear(shape=2.5, median_years=12))
    lives = [Life(years, failed) for years, failed in rows]

    found = [learned(before, order) for order in permutations(lives)]

    assert all(f.exposure == pytest.approx(found[0].exposure) for f in found)
    assert {f.failures for f in found} == {2 + sum(failed for _, failed in rows)}


@given(st.floats(0.5, 30))
def test_a_part_that_works_never_shortens_the_expected_life(years):
    """Seeing a part go on working lengthens the median, seeing it fail early shortens it."""
    before = stated_lives(Wear(shape=2, median_years=12))

    works = learned(before, [Life(years, failed=False)])
    broke = learned(before, [Life(years, failed=True)])

    assert works.median_years() > before.median_years()
    assert broke.median_years() < works.median_years()


def test_forty_years_of_ones_own_pumps_overrule_the_table():
    """Thirty pumps that failed at six years are believed against a table that says ten."""
    before = stated_lives(Wear(shape=2, median_years=10))
    # A Weibull law of shape 2 with median 6 (scale 7.207), at its 30 middle quantiles.
    ages = [7.207 * math.sqrt(-math.log(1 - (n + 0.5) / 30)) for n in range(30)]

    after = learned(before, [Life(age, failed=True) for age in ages])

    assert after.median_years() == pytest.approx(6.0, abs=0.35)


def test_it_hardly_changes_the_first_year_of_what_the_table_says():
    """A young part's chance to fail agrees with the plain law within a third: doubt is in the tail."""
    wear = faults()["valve_motor_dead"].wear
    assert wear is not None

    for age in (1, 3, 6):
        plain = failure_within_a_year(wear, age)
        assert stated_lives(wear).failure_within_a_year(age) == pytest.approx(plain, rel=1 / 3)


@pytest.mark.parametrize(
    ("kind", "variant", "median"),
    [
        ("circulator", None, 10),  # ASHRAE chart: pipe-mounted pump 10 years
        ("transformer", None, 30),  # ASHRAE chart: electric transformers 30 years
        ("valve", "wax", 10),  # ASHRAE chart: self-contained valve actuators 10 years
        ("valve", "motor_4wire", 12),  # common practice, no source
        ("source", "condensing_boiler", 25),  # common practice, no source
    ],
)
def test_a_component_ages_as_its_likeliest_failure(kind, variant, median):
    """The life of a component is that of the failure that most often ends it."""
    wear = wear_of(kind, variant)

    assert wear is not None
    assert wear.median_years == median


@pytest.mark.parametrize(("kind", "variant"), [("loop", None), ("apartment", None)])
def test_what_is_never_replaced_has_no_life(kind, variant):
    """Pipes and homes are not parts that one fits anew."""
    assert wear_of(kind, variant) is None
