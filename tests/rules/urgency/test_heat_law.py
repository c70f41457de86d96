"""The heat laws against their texts, case by case."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from rules.model import Temperature
from rules.urgency.heat_law import (
    floor_window,
    law_texts,
    legal_floor_f,
    texts_in_force,
)

ZONES = {
    "us-ny-nyc": "America/New_York",
    "us-ma": "America/New_York",
    "us-il-chicago": "America/Chicago",
    "us-pa-philadelphia": "America/New_York",
    "ca-on-toronto": "America/Toronto",
    "none": "America/New_York",
}


def _floor(rule: str, local: str, outdoor_f: float | None) -> float | None:
    zone = ZoneInfo(ZONES[rule])
    return legal_floor_f(
        rule, datetime.fromisoformat(local).replace(tzinfo=zone), str(zone), outdoor_f
    )


# (rule, local time, indoor F, outdoor F, floor that holds, whether it is broken)
# Sources: nycourts.gov heat requirements and Local Law 86/2017; 105 CMR 410.180 at
# cityofmalden.org, 410.201 at framinghamma.gov; codelibrary.amlegal.com for Chicago and
# Philadelphia; toronto.ca 311.
CASES = [
    pytest.param("us-ny-nyc", "2026-01-10T14:00", 66.0, 54.9, 68, True, id="L1"),
    pytest.param("us-ny-nyc", "2026-01-10T14:00", 66.0, 55.0, None, False, id="L2 below is strict"),
    pytest.param("us-ny-nyc", "2026-01-10T02:00", 61.9, 60.0, 62, True, id="L3 night always"),
    pytest.param("us-ny-nyc", "2026-01-10T02:00", 56.0, 45.0, 62, True, id="L4"),
    pytest.param("us-ny-nyc", "2016-01-10T02:00", 56.0, 45.0, None, False, id="L4 old text"),
    pytest.param("us-ny-nyc", "2016-01-10T02:00", 54.0, 39.0, 55, True, id="L4 old text, colder"),
    pytest.param("us-ny-nyc", "2026-06-01T02:00", 50.0, 45.0, None, False, id="L5 out of season"),
    pytest.param("us-ny-nyc", "2026-01-10T21:59", 66.0, 30.0, 68, True, id="L6 last day minute"),
    pytest.param(
        "us-ny-nyc", "2026-01-10T22:00", 66.0, 30.0, 62, False, id="L6 first night minute"
    ),
    pytest.param("us-ny-nyc", "2026-01-10T05:59", 66.0, 30.0, 62, False, id="L6 last night minute"),
    pytest.param("us-ny-nyc", "2026-01-10T06:00", 66.0, 30.0, 68, True, id="L6 first day minute"),
    pytest.param("us-ma", "2024-06-05T12:00", 60.0, 55.0, None, False, id="L7 text of 2023"),
    pytest.param("us-ma", "2022-06-05T12:00", 60.0, 55.0, 68, True, id="L7 older text"),
    pytest.param("us-ma", "2025-10-20T23:00", 66.0, 40.0, 68, True, id="L9"),
    pytest.param("us-ma", "2025-10-20T23:01", 66.0, 40.0, 64, False, id="L9 a minute later"),
    pytest.param("us-ma", "2025-10-21T06:59", 66.0, 40.0, 64, False, id="L9 morning"),
    pytest.param("us-il-chicago", "2026-01-10T22:31", 66.0, 20.0, 66, False, id="L10"),
    pytest.param("us-il-chicago", "2026-01-10T08:30", 67.0, 20.0, 68, True, id="L10 day"),
    pytest.param("us-pa-philadelphia", "2026-05-06T12:00", 67.0, 59.0, 68, True, id="L11"),
    pytest.param("us-pa-philadelphia", "2026-05-06T12:00", 67.0, 60.0, None, False, id="L11 warm"),
    pytest.param("us-pa-philadelphia", "2026-09-06T12:00", 67.0, 59.0, 68, True, id="L11 fall"),
    pytest.param("us-pa-philadelphia", "2026-01-06T12:00", 67.0, 65.0, 68, True, id="L11 winter"),
    pytest.param("ca-on-toronto", "2025-09-20T12:00", 68.0, 50.0, None, False, id="L12 new text"),
    pytest.param("ca-on-toronto", "2024-09-20T12:00", 68.0, 50.0, 69.8, True, id="L12 old text"),
    pytest.param("ca-on-toronto", "2025-10-01T00:00", 68.0, 50.0, 69.8, True, id="L12 October"),
    pytest.param("none", "2026-01-10T02:00", 30.0, 0.0, None, False, id="no rule"),
]


@pytest.mark.parametrize(("rule", "local", "indoor_f", "outdoor_f", "floor_f", "broken"), CASES)
def test_floor_and_violation(
    rule: str,
    local: str,
    indoor_f: float,
    outdoor_f: float,
    floor_f: float | None,
    broken: bool,
) -> None:
    """The floor at a local time is the one in the text, and the reading breaks it or not."""
    floor = _floor(rule, local, outdoor_f)
    assert floor == floor_f
    assert (floor is not None and indoor_f < floor) is broken


def test_toronto_old_text_would_have_been_broken_in_september_2025() -> None:
    """L12: read under the older text, 20 C on 2025-09-20 is a violation; under the new one not."""
    local = datetime(2025, 9, 20, 12, tzinfo=ZoneInfo("America/Toronto"))
    old = tuple(t for t in law_texts() if t.rule == "ca-on-toronto" and t.effective_to is not None)
    assert floor_window(old, local, 50.0) == (69.8, old[0])
    assert floor_window(texts_in_force("ca-on-toronto", local.date()), local, 50.0) is None


@pytest.mark.parametrize(
    ("celsius", "fahrenheit"), [(20, 68.0), (21, 69.8), (25.56, 78.0)], ids=["L14a", "L14b", "L14c"]
)
def test_celsius_and_fahrenheit(celsius: float, fahrenheit: float) -> None:
    """L14: the limits in C and F are the same to 0.01."""
    assert Temperature(celsius, "C").fahrenheit == pytest.approx(fahrenheit, abs=0.01)


# L15. In 2026 New York turns back on 1 November (01:30 twice: 05:30Z and 06:30Z) and forward on
# 8 March (02:00 to 03:00 does not exist; 07:00Z is 03:00). IANA time zone database.
@pytest.mark.parametrize(
    ("instant", "floor_f"),
    [
        ("2026-11-01T05:30+00:00", 62),  # 01:30 the first time
        ("2026-11-01T06:30+00:00", 62),  # 01:30 the second time
        ("2026-11-01T10:59+00:00", 62),  # 05:59 standard time: still night
        ("2026-11-01T11:00+00:00", 68),  # 06:00 standard time
        ("2026-10-31T10:00+00:00", 68),  # 06:00 daylight time, the day before
        ("2026-03-08T07:00+00:00", 62),  # 03:00, right after the missing hour
        ("2026-03-08T09:59+00:00", 62),  # 05:59 daylight time
        ("2026-03-08T10:00+00:00", 68),  # 06:00 daylight time
        ("2026-03-07T10:59+00:00", 62),  # 05:59 standard time, the day before
    ],
)
def test_windows_follow_the_local_clock_through_clock_changes(instant: str, floor_f: float) -> None:
    """L15: the day begins at 6 am on the wall, whatever the offset."""
    at = datetime.fromisoformat(instant)
    assert legal_floor_f("us-ny-nyc", at, "America/New_York", 40.0) == floor_f


def test_the_same_instant_in_any_offset_has_the_same_floor() -> None:
    """The offset an instant is written in does not matter."""
    at = datetime(2026, 1, 10, 10, 59, tzinfo=UTC)
    tokyo = at.astimezone(ZoneInfo("Asia/Tokyo"))
    assert legal_floor_f("us-ny-nyc", at, "America/New_York", 40.0) == 62
    assert legal_floor_f("us-ny-nyc", tokyo, "America/New_York", 40.0) == 62


def test_unknown_outdoor_temperature_counts_as_cold() -> None:
    """Without a weather value the day window is taken to hold."""
    assert _floor("us-ny-nyc", "2026-01-10T14:00", None) == 68


def test_no_rule_and_unknown_rule() -> None:
    """A building may have no rule; a rule that does not exist is a mistake."""
    at = datetime(2026, 1, 10, 12, tzinfo=UTC)
    assert legal_floor_f(None, at, "America/New_York", 20.0) is None
    with pytest.raises(KeyError):
        legal_floor_f("us-xx", at, "America/New_York", 20.0)


def test_rule_ids() -> None:
    """The rules that building files name are there."""
    assert {text.rule for text in law_texts()} >= set(ZONES)


def test_every_text_says_where_it_was_read() -> None:
    """A law without a source, a date and a mark must not be shown to anybody."""
    for text in law_texts():
        assert text.source, text.name
        assert date.fromisoformat(f"{text.as_of}-01"), text.name
        assert text.mark in {"F", "F*", "M"}, text.name


def test_texts_of_one_rule_and_season_do_not_overlap() -> None:
    """Older and newer texts of a rule never hold on the same day of the same season."""
    for a in law_texts():
        for b in law_texts():
            if (
                a is not b
                and a.rule == b.rule
                and (a.effective_to, b.effective_from) != (None, None)
            ):
                on = b.effective_from
                if on is not None:
                    assert not a.is_in_force(on), (a.name, b.name)
