"""Tools for checks."""

from __future__ import annotations

from rules.checks.tools import tools_for
from rules.data import table
from rules.faults.catalogue import checks
from rules.model import CheckId


def test_tools_come_in_the_order_of_the_checks_and_once() -> None:
    """Volts at a coil and at a pump take one meter; air is measured with its own instrument.

    The instruments are common practice, no source.
    """
    wanted = [CheckId(c) for c in ("ambient_co", "coil_volts", "pump_volts", "lever_feel")]
    assert tools_for(wanted) == ("CO meter", "meter")


def test_what_one_has_on_oneself_is_a_tool_of_some_check() -> None:
    """No word in that list is a leftover, and a check made by looking alone needs nothing."""
    used = {tool for check in checks().values() for tool in check.tools}
    assert set(table("tools")["on_oneself"]) <= used
    looked_at = [c for c, row in checks().items() if set(row.tools) == {"eyes"}]
    assert looked_at
    assert tools_for(looked_at) == ()


def test_a_check_that_is_no_longer_known_needs_nothing() -> None:
    """An old ticket may name one."""
    assert tools_for([CheckId("no_such_check")]) == ()
