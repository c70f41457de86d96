"""How much a check tells: bits of what it may show about who is at fault."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.checks.telling import Told, reading_chances
from rules.faults.catalogue import checks, faults
from rules.faults.rows import CheckReading
from rules.model import CheckId

COUPLER, GAUGE, VOLTS = CheckId("coupler_look"), CheckId("gauge_tp"), CheckId("motor_volts")


def psi(low: float, high: float) -> tuple[CheckReading, ...]:
    """What one suspect expects of the gauge."""
    return (CheckReading(check=GAUGE, reads=(low, high), unit="psi"),)


def bits(chances, *weight: float) -> float:
    """What a check tells of suspects with these chances."""
    return Told(np.array(weight)).bits(chances)


def test_two_words_with_one_error_in_ten_carry_half_a_bit():
    """A binary symmetric channel carries 1 - H(0.1) = 0.531 bits (Shannon 1948)."""
    broken = (CheckReading(check=COUPLER, outcome="broken"),)

    assert bits(reading_chances(COUPLER, (broken, ())), 0.5, 0.5) == pytest.approx(0.531, abs=5e-4)


def test_what_both_leave_alike_tells_nothing():
    """No bits without a difference."""
    assert bits(reading_chances(GAUGE, (psi(2, 10), psi(2, 10))), 0.5, 0.5) == pytest.approx(0)


def test_ranges_that_overlap_tell_less_than_ranges_apart():
    """A reading that fits both leaves them as they were."""
    apart = bits(reading_chances(GAUGE, (psi(0, 5), psi(12, 25))), 0.5, 0.5)
    touching = bits(reading_chances(GAUGE, (psi(2, 20), psi(12, 25))), 0.5, 0.5)
    nearly_one = bits(reading_chances(GAUGE, (psi(10, 25), psi(12, 25))), 0.5, 0.5)

    assert 0.5 < apart < 1
    assert 0.05 < touching < apart
    assert nearly_one < 0.1


def test_a_check_made_twice_tells_less_the_second_time():
    """Bits of a second reading of the same thing, given the first."""
    told = Told(np.array([0.5, 0.5]))
    chances = reading_chances(GAUGE, (psi(0, 5), psi(12, 25)))
    first = told.bits(chances)
    told.measure(chances)

    assert 0 < told.bits(chances) < first


def test_a_range_of_one_state_of_the_call_is_compared_in_that_state():
    """24 V with no call parts the thermostat from a healthy one; both show 24 V with a call."""
    driven = (CheckReading(check=VOLTS, reads=(24, 28), unit="V", calling=False),)
    calling = (CheckReading(check=VOLTS, reads=(24, 28), unit="V", calling=True),)

    assert bits(reading_chances(VOLTS, (driven, ())), 0.5, 0.5) > 0.5
    assert bits(reading_chances(VOLTS, (calling, ())), 0.5, 0.5) == pytest.approx(0, abs=1e-9)


@given(st.data())
def test_bits_are_never_less_than_none_nor_more_than_what_is_not_known(data):
    """Mutual information lies between 0 and the entropy of the suspects (Cover and Thomas, ch. 2)."""
    check = data.draw(st.sampled_from(sorted(checks())))
    rows = data.draw(st.lists(st.sampled_from(sorted(faults())), min_size=1, max_size=6))
    expected = tuple(tuple(r for r in faults()[row].checks if r.check == check) for row in rows)
    chances = reading_chances(check, (*expected, ()))
    weight = np.full(len(chances), 1 / len(chances))

    assert chances.sum(axis=1) == pytest.approx(1)
    assert -1e-9 <= bits(chances, *weight) <= np.log2(len(weight)) + 1e-9
