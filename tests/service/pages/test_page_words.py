"""Words on pages: times in the building's zone, shares, names, and text made harmless."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from service.pages import times, words

ZONE = "America/New_York"
# A Wednesday, 18:40 in New York.
NOW = datetime(2026, 1, 14, 23, 40, tzinfo=UTC)


@pytest.mark.parametrize(
    ("hours", "says"),
    [
        (2, "by 8:40 pm today"),
        (6, "by 12:40 am tomorrow"),  # past midnight in the building, same UTC day or not
        (38, "by 8:40 am Fri"),
        (24 * 7, "by 6:40 pm Wed 21 Jan"),  # a bare "Wed" would be read as today
        (24 * 200, "by 7:40 pm Sun 2 Aug 2026"),  # daylight saving: an hour later on the wall
        (0, "now"),
        (-3, "was due by 3:40 pm today"),
        (-26, "was due by 4:40 pm yesterday"),
        (-72, "was due by 6:40 pm Sun 11 Jan"),
    ],
)
def test_a_due_time_is_said_in_building_time(hours: int, says: str) -> None:
    """Day names count days on the building's own calendar, not 24-hour spans."""
    assert times.due_words(NOW + timedelta(hours=hours), NOW, ZONE) == says


def test_a_raw_time_in_a_text_is_said_as_people_say_it() -> None:
    """18:40 in New York; the exact instant stays for programs, anything else stays text."""
    shown = times.with_times("until: 2026-01-15T13:00:00+00:00, was: <none>", NOW, ZONE)
    assert shown == (
        'until: <time datetime="2026-01-15T13:00:00+00:00">8:00 am tomorrow</time>, was: &lt;none&gt;'
    )


def test_noon_and_midnight_are_twelve() -> None:
    """12-hour clock: noon is 12 pm and midnight 12 am (US usage, NIST's note on times of day)."""
    midnight = datetime(2026, 1, 15, 5, 0, tzinfo=UTC)
    assert times.clock_words(midnight, ZONE) == "12:00 am"
    assert times.clock_words(midnight + timedelta(hours=12), ZONE) == "12:00 pm"


def test_a_danger_is_never_said_to_have_been_due() -> None:
    """A danger heard of an hour ago is due now."""
    heard = NOW - timedelta(hours=1)
    assert times.due_words(heard, NOW, ZONE, True) == "now, since 5:40 pm today"


@pytest.mark.parametrize(
    ("share", "says", "word"),
    [
        (0.0, "under 1\u00a0%", "unsure"),
        (0.249, "25\u00a0%", "unsure"),
        (0.25, "25\u00a0%", "possible"),
        (0.6, "60\u00a0%", "likely"),
        (0.999, "over 99\u00a0%", "likely"),
    ],
)
def test_a_share_has_a_word_and_a_number(share: float, says: str, word: str) -> None:
    """No share is shown as 0 % or 100 %."""
    assert (words.per_cent(share), words.sureness(share)) == (says, word)


def test_weights_say_which_way_and_how_strongly() -> None:
    """The sign decides for or against, the size decides the adverb."""
    assert words.weight_words(2.1) == "speaks strongly for"
    assert words.weight_words(-1.2) == "speaks clearly against"
    assert words.weight_words(0.1) == "speaks a little for"
    assert words.weight_words(0.0) == "changes nothing for"


def test_components_and_homes_are_named_as_people_say_them() -> None:
    """Ids made by default are turned round; given ids stay."""
    assert words.component_words("2A.valve") == "valve of 2A"
    assert words.component_words("pump-2") == "pump-2"
    assert words.component_words("loop-2.riser-B") == "riser of line B on loop-2"
    assert words.component_words("annex.pump") == "annex.pump"
    assert words.homes_words(tuple("ABCDEFGHIJ"), 8).endswith("G, H and 2 more")
    assert words.homes_words(("2A",)) == "home 2A"


@pytest.mark.parametrize(
    ("tells", "lines"),
    [
        ("0 V: fuse; 24 V: relay", ("0 V: fuse", "24 V: relay")),
        ("0-5 psi; 60 F: empty; healthy: none", ("0-5 psi; 60 F: empty", "healthy: none")),
        ("limp: open; so it drives", ("limp: open; so it drives",)),
        ("limp means open", ("limp means open",)),
        ("", ()),
    ],
)
def test_what_a_check_tells_is_one_line_an_outcome(tells: str, lines: tuple[str, ...]) -> None:
    """Readings of two instruments belong to one outcome and stay together."""
    assert words.tell_lines(tells) == lines


def test_direction_overrides_never_reach_a_page() -> None:
    """U+202E and its relatives (Unicode 16.0, section 23.2) are dropped, letters stay."""
    assert words.clean("a\u202eb\u2066c\u200fd\u0000e") == "abcde"
    assert words.clean("Está frío 暖房") == "Está frío 暖房"
    assert words.clean(3) == 3
