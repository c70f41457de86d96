"""Readings are named as the trade names them, not by the ids of tables."""

from __future__ import annotations

from rules.data import table
from service.usecases.showing.check_words import check_words
from service.usecases.showing.ticket_words import finding_words


def test_a_reading_reads_well_whatever_its_check() -> None:
    """No abbreviation of a table's id is left to read, such as ``dt``, ``uf`` or ``hx``."""
    for row in table("checks"):
        said = check_words(str(row["id"]))
        short = {"dt", "dp", "uf", "hx", "tp", "dhw", "co", "trv", "lwco", "sec", "prim", "iso"}
        assert "_" not in said
        assert not short.intersection(said.split()), said


def test_a_finding_says_what_where_and_how_much() -> None:
    """As it stands in the history and on the phone."""
    body = {
        "check": "ambient_co",
        "component": "boiler-1",
        "value": 12.0,
        "unit": "ppm",
        "outcome": None,
        "calling": None,
    }
    assert finding_words(body) == "CO in the air at boiler-1: 12 ppm"
