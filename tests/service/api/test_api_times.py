"""Times that callers send: whatever RFC 3339 allows is understood, nothing else is."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

import pytest
from pydantic import ValidationError

from service.api.bodies import ClockBody

# RFC 3339, 5.8 "Examples", with what the text beside each says; the fourth lies before 1971.
EXAMPLES = {
    "1985-04-12T23:20:50.52Z": datetime(1985, 4, 12, 23, 20, 50, 520_000, tzinfo=UTC),
    "1996-12-19T16:39:57-08:00": datetime(1996, 12, 20, 0, 39, 57, tzinfo=UTC),
    # "a leap second inserted at the end of 1990": the one after 23:59:59, before the new year.
    "1990-12-31T23:59:60Z": datetime(1991, 1, 1, tzinfo=UTC),
    "1990-12-31T15:59:60-08:00": datetime(1991, 1, 1, tzinfo=UTC),
}


@pytest.mark.parametrize(("written", "meant"), EXAMPLES.items())
@pytest.mark.parametrize("written_as", [str.upper, str.lower])
def test_the_examples_of_the_standard_are_understood(
    written: str, meant: datetime, written_as: Callable[[str], str]
) -> None:
    """Also in small letters, which 5.6 allows ("T" and "Z" may alternatively be lower case)."""
    assert ClockBody(now=written_as(written)).now == meant


@pytest.mark.parametrize(
    "written", ["2025-01-01T12:00:60Z", "2025-01-15T23:59:60Z", "2025-01-01T23:59:61Z"]
)
def test_a_second_60_ends_a_month(written: str) -> None:
    """RFC 3339, 5.7 and appendix D: leap seconds come at the end of a month, UTC, and nowhere else."""
    with pytest.raises(ValidationError, match="RFC 3339"):
        ClockBody(now=written)
