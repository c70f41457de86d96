"""A thermostat that reads wrong, when its settings are looked at."""

from __future__ import annotations

import pytest

from rules.diagnosis.measuring import chance
from rules.faults.catalogue import faults
from rules.model import CheckId, ComponentId, FaultId, Found


# A sensor drifts, a bimetal one hangs askew; few have an offset that somebody set wrong. A thermostat is
# right within 1-1.5 F of a good thermometer and reads wrong by 2-6 F: common practice, no source.
@pytest.mark.parametrize(
    ("fault", "beside_f"), [("stat_reads_high", 4.0), ("stat_reads_low", -4.0)]
)
def test_only_a_thermometer_beside_it_shows_it(fault, beside_f):
    """Settings as agreed leave it as likely as a healthy one; a thermometer beside it does not."""
    rows = faults()[FaultId(fault)].checks
    settings, probe = CheckId("stat_settings"), CheckId("room_probe")
    agreed = Found(settings, ComponentId("x"), outcome="heat_as_agreed")
    off = Found(probe, ComponentId("x"), beside_f, "F")

    assert chance([r for r in rows if r.check == settings], agreed) == chance([], agreed)
    assert chance([r for r in rows if r.check == probe], off) > 10 * chance([], off)
