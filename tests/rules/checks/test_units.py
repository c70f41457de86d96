"""A reading comes in the unit of whatever instrument is at hand."""

from __future__ import annotations

import pytest

from rules.checks.units import convertible, in_unit_of, units_of
from rules.data import table
from rules.faults.catalogue import checks
from rules.model import CheckId

# NIST SP 811, appendix B: pascals in one.
PA_IN_PSI, PA_IN_INCH_OF_WATER, PA_IN_MM_OF_WATER, PA_IN_BAR = 6894.757, 249.0889, 9.80665, 1e5


def read(check: str, value: float, unit: str | None) -> tuple[float, str] | None:
    """A reading as the check has it."""
    return in_unit_of(checks()[CheckId(check)], value, unit)


@pytest.mark.parametrize(
    ("check", "value", "written", "expected", "unit"),
    [
        ("gauge_tp", 18, "psi", 18, "psi"),
        ("gauge_tp", 160, "F", 160, "F"),
        ("gauge_tp", 160, None, 160, "F"),
        # 70 C are 158 F, 100 C 212 F (definition of the scales).
        ("gauge_tp", 70, "C", 158, "F"),
        ("gauge_tp", 100, "\u00b0C", 212, "F"),
        ("gauge_tp", 1.2, "bar", 1.2 * PA_IN_BAR / PA_IN_PSI, "psi"),
        ("gauge_tp", 120, "kPa", 120_000 / PA_IN_PSI, "psi"),
        ("gas_pressure", 17, "mbar", 1700 / PA_IN_INCH_OF_WATER, "in_wc"),
        ("gas_pressure", 1.7, "kPa", 1700 / PA_IN_INCH_OF_WATER, "in_wc"),
        ("gas_pressure", 180, "mm w.c.", 180 * PA_IN_MM_OF_WATER / PA_IN_INCH_OF_WATER, "in_wc"),
        ("gas_pressure", 0.25, "psi", 0.25 * PA_IN_PSI / PA_IN_INCH_OF_WATER, "in_wc"),
        ("gas_pressure", 7, "in. w.c.", 7, "in_wc"),
        ("flame_signal", 3, "\u00b5A", 3, "uA"),
        ("flame_signal", 3, "\u03bcA", 3, "uA"),
        ("flame_signal", 0.003, "mA", 3, "uA"),
        ("flame_signal", 25, "mV", 25, "mV"),
        ("flame_signal", 0.025, "V", 25, "mV"),
        ("pump_contact", 300, "mV", 0.3, "V"),
        ("coil_ohms", 0.12, "k\u03a9", 120, "ohm"),
        ("motor_ohms", 1, "M\u2126", 1e6, "ohm"),
        ("stroke_time", 2, "min", 120, "s"),
        ("cap_uf", 80, "%", 80, "percent"),
    ],
)
def test_a_sensible_unit_is_turned_into_the_checks_own(
    check: str, value: float, written: str | None, expected: float, unit: str
) -> None:
    """Both units of a check that has two, Celsius, metric pressures, prefixes."""
    found = read(check, value, written)

    assert found is not None
    assert found[1] == unit
    assert found[0] == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("check", ["loop_dt", "balance_read", "room_probe", "curve_check"])
def test_a_difference_in_celsius_has_no_zero_point(check: str) -> None:
    """10 degrees Celsius of difference are 18 Fahrenheit (definition of the scales), not 50."""
    assert read(check, 10, "C") == (18, "F")


@pytest.mark.parametrize(
    ("check", "unit"),
    [
        ("coil_volts", "psi"),
        ("gauge_tp", "V"),
        ("cap_uf", "uF"),
        ("flame_signal", "ppm"),
        ("ambient_co", "F"),
    ],
)
def test_a_unit_that_measures_something_else_is_not_taken(check: str, unit: str) -> None:
    """Nothing is guessed."""
    assert read(check, 1, unit) is None


def test_every_unit_of_every_check_is_known_and_stands_for_itself() -> None:
    """What a page offers is taken as it is, and what people are told is taken at all."""
    for check in checks().values():
        for unit in units_of(check):
            assert read(str(check.id), 5, unit) == (5, unit)
        for unit in convertible(check):
            assert read(str(check.id), 5, unit) is not None, (check.id, unit)
        assert bool(units_of(check)) != bool(check.outcomes), check.id


def test_only_differences_of_temperature_are_called_so() -> None:
    """Each such check is in Fahrenheit and says in words that two are compared."""
    named = [c for c in checks().values() if c.difference]

    assert named
    for check in named:
        assert units_of(check) == ("F",)
        assert "minus" in check.do.lower()
    assert set(table("units")["told"]) <= set(table("units"))
