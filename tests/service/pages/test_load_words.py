"""What stands beside a part of the day's load."""

from __future__ import annotations

import pytest

from service.pages.truck.load_words import at_once, used_at
from service.usecases.showing.truck_day import LoadItem


@pytest.mark.parametrize(
    ("stops", "said"),
    [
        ((2,), "stop 2"),
        ((1, 2), "stops 1 and 2"),
        ((1, 2, 3), "stops 1 to 3"),
        ((1, 3, 4, 5, 8), "stops 1, 3 to 5 and 8"),
    ],
)
def test_stops_are_named_by_their_numbers(stops: tuple[int, ...], said: str) -> None:
    """As they stand before the stops of the day; neighbours are put together."""
    item = LoadItem("Circulator", 1, 0.414, (("Pump has seized", stops),))

    assert used_at(item) == f"41\u00a0%; {said}: pump has seized"


def test_two_reasons_are_enough() -> None:
    """The likeliest two; without any there is the chance alone."""
    reasons = (("Pump has seized", (1,)), ("24 V transformer is dead", (2,)), ("CO", (3,)))

    told = used_at(LoadItem("Circulator", 1, 0.2, reasons))
    assert told == "20\u00a0%; stop 1: pump has seized; stop 2: 24 V transformer is dead"
    assert used_at(LoadItem("Fuse", 1, 0.004, ())) == "under 1\u00a0%"


def test_what_is_rare_says_for_how_many_it_is_carried() -> None:
    """Only where the homes that would wait are the reason."""
    stops = (("Pump has seized", (3,)),)

    told = used_at(LoadItem("Circulator", 1, 0.04, stops, homes=11.6, is_for_many=True))
    assert told == "4\u00a0%, but 12 homes would wait for it; stop 3: pump has seized"
    assert "wait" not in used_at(LoadItem("Circulator", 1, 0.4, stops, homes=11.6))


def test_names_keep_their_capitals() -> None:
    """Common words lose theirs inside a sentence."""
    assert at_once("Wire connectors") == "wire connectors"
    assert at_once("A short in the wiring") == "a short in the wiring"
    assert at_once("CO in the flue") == "CO in the flue"
