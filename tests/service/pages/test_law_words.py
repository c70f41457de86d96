"""What a heat law asks for, as an owner reads it; the expected values are those of the laws' texts."""

from __future__ import annotations

from datetime import date

import pytest

from service.pages.owner.law_words import law_words
from service.usecases.showing.heat_law_view import laws_of

WINTER, MAY = date(2026, 1, 10), date(2026, 5, 10)


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        # NYC Administrative Code 27-2029: 68 F from 6 am to 10 pm under 55 F outdoors, 62 F at night
        (
            "us-ny-nyc",
            (
                "from 1 October to 31 May at least 68 F from 6:00 am to 10:00 pm while it is under 55 F "
                "outdoors; 62 F from 10:00 pm to 6:00 am"
            ),
        ),
        # 105 CMR 410.180: 68 F from 7 am to 11 pm, 64 F from 11:01 pm, 78 F at most
        (
            "us-ma",
            (
                "from 15 September to 31 May at least 68 F from 7:00 am to 11:01 pm; 64 F from 11:01 pm "
                "to 7:00 am; at most 78 F by the heating"
            ),
        ),
        # Philadelphia PM-602: 68 F at any hour
        ("us-pa-philadelphia", "from 1 October to 30 April at least 68 F at any hour"),
        ("none", "no least temperature is asked for"),
    ],
)
def test_what_a_law_asks_for(rule: str, words: str) -> None:
    """Season, hours, limits, and the weather on which they hang."""
    assert law_words(laws_of(rule, [WINTER])[0]) == words


def test_each_text_is_said_once_however_many_days_it_was_in_force() -> None:
    """Three texts of one rule, on two days."""
    found = laws_of("us-pa-philadelphia", [WINTER, MAY, MAY])
    assert len(found) == len({law.name for law in found})
    assert laws_of(None, [WINTER]) == ()
