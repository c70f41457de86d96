"""Tables to take away: the form of RFC 4180, and nothing in them that a spreadsheet would compute."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.pages.tables import csv_text
from service.pages.words import clean


def test_commas_quotes_and_line_ends_stand_in_quotes() -> None:
    """RFC 4180, section 2: rules 1 (CR LF), 6 (fields in quotes) and 7 (a quote is doubled)."""
    made = csv_text(("a", "b", "c"), [("aaa", "b\nbb", 'say "x", y')])
    assert made == 'a,b,c\r\naaa,"b\nbb","say ""x"", y"\r\n'


@pytest.mark.parametrize("first", ["=", "+", "-", "@", "\t", "\r"])
def test_what_a_spreadsheet_would_compute_is_text(first: str) -> None:
    """The characters and the apostrophe are those of OWASP's page on CSV injection."""
    (row,) = list(csv.reader(io.StringIO(csv_text(("x",), [(f"{first}1+1",)]), newline="")))[1:]
    assert row == [f"'{first}1+1"]


def test_numbers_stay_numbers() -> None:
    """A night at minus five is a number, not text; nothing known is nothing."""
    assert csv_text(("f",), [(-5.0,), (None,)]) == 'f\r\n-5.0\r\n""\r\n'


@given(st.lists(st.lists(st.text(), min_size=2, max_size=2), max_size=5))
def test_any_text_comes_back_as_it_was(rows: list[list[str]]) -> None:
    """Python's own reader gives back each field, less control characters and the apostrophe."""
    read = list(csv.reader(io.StringIO(csv_text(("a", "b"), rows), newline="")))[1:]
    told = [[str(clean(cell)) for cell in row] for row in rows]
    assert [[cell.removeprefix("'") for cell in row] for row in read] == [
        [cell.removeprefix("'") for cell in row] for row in told
    ]
