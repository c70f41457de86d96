"""By when somebody acts, as a tenant is told it: no minutes, no hour that nobody needs."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from service.usecases.sending.due_words import act_by_words

ZONE = "America/New_York"
NOW = datetime(2026, 1, 15, 20, 5, tzinfo=UTC)  # Thursday, 3:05 pm


@pytest.mark.parametrize(
    ("at", "en", "es"),
    [
        (datetime(2026, 1, 15, 20, 0, tzinfo=UTC), "", ""),
        (datetime(2026, 1, 15, 20, 6, tzinfo=UTC), "", ""),
        (datetime(2026, 1, 15, 20, 40, tzinfo=UTC), "3:40 pm today", "hoy a las 3:40 pm"),
        (datetime(2026, 1, 15, 20, 43, tzinfo=UTC), "3:40 pm today", "hoy a las 3:40 pm"),
        (datetime(2026, 1, 16, 0, 0, tzinfo=UTC), "7 pm today", "hoy a las 7 pm"),
        (datetime(2026, 1, 16, 20, 5, tzinfo=UTC), "3 pm tomorrow", "mañana a las 3 pm"),
        (datetime(2026, 1, 18, 20, 5, tzinfo=UTC), "Sunday", "el domingo"),
        (datetime(2026, 1, 19, 7, 10, tzinfo=UTC), "Sunday", "el domingo"),  # Monday, 2:10 am
        (datetime(2026, 1, 17, 7, 10, tzinfo=UTC), "tomorrow", "mañana"),  # Saturday, 2:10 am
        (datetime(2026, 1, 21, 20, 5, tzinfo=UTC), "Wednesday", "el miércoles"),  # within the week
        (datetime(2026, 1, 22, 20, 5, tzinfo=UTC), "Jan 22", "el 22 de enero"),
        (datetime(2026, 1, 26, 0, 0, tzinfo=UTC), "Jan 25", "el 25 de enero"),  # Sunday, 7 pm
    ],
)
def test_act_by(at: datetime, en: str, es: str) -> None:
    """The hour until tomorrow, then the day; at night it is the day before, in minutes it is at once."""
    assert act_by_words(at, NOW, ZONE, "en") == en
    assert act_by_words(at, NOW, ZONE, "es") == es


def test_never_later_than_it_is_due() -> None:
    """A promise may be kept early, never told late: full hours are those before."""
    for minute in range(0, 60, 7):
        at = datetime(2026, 1, 16, 1, minute, tzinfo=UTC)
        assert act_by_words(at, NOW, ZONE, "en") == "8 pm today"
