"""What technicians type, and what is made of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_up import ticket

from service.errors import InvalidError, PointedError
from service.pages.readings import OPEN_CIRCUIT_OHM, read_number
from service.pages.rendering import FormProblem
from service.pages.repairs.forms import read_closing
from service.pages.truck.forms import problem_of, read_finding
from service.usecases.diagnosing.record_finding import Finding
from service.usecases.repairs.close_ticket import Closing

TODAY = date(2026, 1, 14)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("24.5", "V", 24.5),
        (" 24,5 V ", "V", 24.5),
        ("-2", "F", -2.0),
        (".5", "A", 0.5),
        ("120 volts", "V", 120.0),
        ("4.7k", "ohm", 4700.0),
        ("2M ohm", "ohm", 2_000_000.0),
        ("OL", "ohm", OPEN_CIRCUIT_OHM),
        ("ol", "ohm", OPEN_CIRCUIT_OHM),
        ("OL", "V", None),
        ("4k", "V", None),
        ("", "V", None),
        ("24-28", "V", None),
        ("24 26", "V", None),
        ("nan", "V", None),
        ("1e400", "V", None),
        ("9999999999999", "V", None),
        ("1,234.5", "V", None),
    ],
)
def test_a_reading_is_one_number_or_none(text: str, unit: str, value: float | None) -> None:
    """Commas, units and the meter's own OL are understood; anything doubtful is asked again."""
    assert read_number(text, unit) == value


@given(st.text(max_size=30), st.sampled_from(["V", "ohm", "F"]))
def test_no_text_breaks_the_reading(text: str, unit: str) -> None:
    """Any text gives a finite number or None."""
    value = read_number(text, unit)
    assert value is None or abs(value) <= 1e9


def test_a_value_needs_the_call_state_where_the_check_does() -> None:
    """0 V is healthy without a call and a fault with one, so it is asked."""
    kept = {"test": "coil_volts", "component": "relay-2", "value": "25.1", "unit": "V"}
    missing = read_finding(ticket(), kept)
    assert isinstance(missing, FormProblem)
    assert missing.field_id == "calling"
    found = read_finding(ticket(), kept | {"calling": "yes"})
    assert found == Finding("coil_volts", "relay-2", 25.1, "V", True, None)


def test_the_unit_is_the_checks_not_the_forms() -> None:
    """A tampered unit changes nothing."""
    kept = {"test": "pump_volts", "component": "pump-2", "value": "120", "unit": "mV"}
    found = read_finding(ticket(), kept)
    assert isinstance(found, Finding)
    assert found.unit == "V"


def test_that_there_is_no_flame_is_a_reading_too() -> None:
    """A meter has nothing to show then; with a figure beside it the figure counts."""
    flame = replace(
        ticket().checks[1], check="flame_signal", component="boiler-1", unit="uA", outcomes=()
    )
    asked = replace(ticket(), checks=(flame,))
    kept = {"test": "flame_signal", "component": "boiler-1", "outcome": "no_flame"}

    assert read_finding(asked, kept) == Finding("flame_signal", "boiler-1", outcome="no_flame")
    both = read_finding(asked, kept | {"value": "0.4", "unit": "uA"})
    assert both == Finding("flame_signal", "boiler-1", 0.4, "uA")
    elsewhere = read_finding(
        ticket(), {"test": "pump_volts", "component": "pump-2"} | {"outcome": "no_flame"}
    )
    assert isinstance(elsewhere, FormProblem)


def test_an_outcome_is_one_of_those_offered() -> None:
    """Words come from the list."""
    kept = {"test": "lever_feel", "component": "2A.valve", "outcome": "limp"}
    assert read_finding(ticket(), kept) == Finding(
        "lever_feel", "2A.valve", None, None, None, "limp"
    )
    assert isinstance(read_finding(ticket(), kept | {"outcome": "purple"}), FormProblem)


def test_a_check_that_is_gone_is_said_so() -> None:
    """The ticket may have moved on while somebody was measuring."""
    problem = read_finding(ticket(), {"test": "old", "component": "pump-2", "value": "1"})
    assert isinstance(problem, FormProblem)
    assert problem.field_id == "checks"


def test_closing_needs_a_cause_from_the_list() -> None:
    """No cause, no closing: what was found is what others learn from."""
    for cause in ("", "pump_seized|pump-9", "x"):
        problem = read_closing(ticket(), {"cause": cause}, TODAY)
        assert isinstance(problem, FormProblem)
        assert problem.field_id == "cause"


def test_closing_with_parts_and_date() -> None:
    """Parts with counts, the date they were fitted, a note."""
    kept = {
        "cause": "pump_seized|pump-2",
        "part_1": "circulator",
        "quantity_1": "1",
        "part_3": "relay",
        "quantity_3": "2",
        "installed": "2026-01-13",
        "note": "flange bolts were loose",
    }
    assert read_closing(ticket(), kept, TODAY) == Closing(
        "pump_seized",
        "pump-2",
        (("circulator", 1), ("relay", 2)),
        date(2026, 1, 13),
        "flange bolts were loose",
    )


def test_a_date_without_a_part_is_not_kept() -> None:
    """The date field is filled in beforehand; alone it says nothing."""
    kept = {"cause": "pump_seized|pump-2", "installed": "2026-01-14"}
    closing = read_closing(ticket(), kept, TODAY)
    assert isinstance(closing, Closing)
    assert closing.installed_on is None


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"installed": "2026-01-15"}, "installed"),
        ({"installed": "soon"}, "installed"),
        ({"part_2": "gold"}, "part-2"),
        ({"part_2": "relay", "quantity_2": "0"}, "quantity-2"),
        ({"part_2": "relay", "quantity_2": "٣"}, "quantity-2"),
    ],
)
def test_what_cannot_be_is_asked_again(wrong: dict[str, str], field: str) -> None:
    """A date in the future, a part nobody has, a count of nothing."""
    problem = read_closing(ticket(), {"cause": "pump_seized|pump-2"} | wrong, TODAY)
    assert isinstance(problem, FormProblem)
    assert problem.field_id == field


def test_a_cause_without_a_name_closes_too() -> None:
    """A technician who found something else must still be able to close."""
    closing = read_closing(ticket(), {"cause": "none", "note": "breaker was off"}, TODAY)
    assert closing == Closing(None, None, note="breaker was off")


def test_the_longer_list_counts_before_the_first() -> None:
    """A radio cannot be unticked; a choice in the list below is the later one."""
    kept = {"cause": "pump_seized|pump-2", "cause_other": "loop_air_bound|loop-2"}
    closing = read_closing(ticket(), kept, TODAY)
    assert isinstance(closing, Closing)
    assert closing.component == "loop-2"


@pytest.mark.parametrize(
    ("pointer", "kept", "field"),
    [
        ("/value", {"test": "x"}, "value"),
        ("/unit", {"test": "x"}, "value"),
        ("/component", {"test": "x"}, "checks"),
        ("/fault", {}, "cause"),
        ("/parts/0/part", {}, "close"),
        ("/installed", {}, "installed"),
    ],
)
def test_a_refusal_from_inside_lands_at_its_field(
    pointer: str, kept: dict[str, str], field: str
) -> None:
    """What the use case will not take is shown where it was typed."""
    refused = InvalidError("refused", (PointedError(pointer, "is out of range"),))
    problem = problem_of(refused, kept)
    assert problem.field_id == field
    assert problem.message == "Not saved: this is out of range."
