"""Whether a reading that a fault expects is also what a healthy plant shows."""

from __future__ import annotations

import pytest

from rules.diagnosis.measuring import chance, is_healthy
from rules.faults.catalogue import checks, faults
from rules.faults.rows import CheckReading
from rules.model import CheckId, ComponentId, Found


# The healthy readings stand in the table of checks; what each row means is common practice, no source.
@pytest.mark.parametrize(
    ("check", "reads", "unit", "calling", "healthy"),
    [
        ("sec_volts", (22, 28), "V", None, True),  # good volts, whatever the call
        ("sec_volts", (0, 1), "V", None, False),
        ("sec_volts", (15, 21.9), "V", True, False),
        ("coil_volts", (0, 1), "V", None, False),  # right without a call, wrong with one
        ("coil_volts", (0, 1), "V", False, True),
        ("coil_volts", (24, 28), "V", True, True),
        ("gauge_tp", (12, 25), "psi", None, True),
        ("gauge_tp", (60, 90), "F", None, False),  # never compared with a pressure
        ("gauge_tp", (2, 10), "psi", None, False),
    ],
)
def test_healthy_in_every_state_that_a_row_is_about(check, reads, unit, calling, healthy):
    """Units are compared with their own, and a row about both states of the call must fit both."""
    row = CheckReading(check=CheckId(check), reads=reads, unit=unit, calling=calling)

    assert is_healthy(row, checks()[CheckId(check)]) is healthy


IN_WORDS = [check for check in checks().values() if check.outcomes]


@pytest.mark.parametrize("check", IN_WORDS, ids=lambda check: check.id)
def test_chances_of_all_words_of_a_check_sum_to_one(check):
    """Whatever is broken, exactly one of its words is found (the law of total probability)."""
    told = [[r for r in f.checks if r.check == check.id] for f in faults().values()]
    for expected in [[], *(rows for rows in told if rows)]:
        found = [Found(check.id, ComponentId("x"), outcome=word) for word in check.outcomes]
        assert sum(chance(expected, word) for word in found) == pytest.approx(1.0)
