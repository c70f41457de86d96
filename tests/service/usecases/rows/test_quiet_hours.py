"""When texts may go out: every minute of the nights on which clocks change, and never too many."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.usecases.rows.quiet_hours import FRESH, awake_at, send_time, spaced

ZONE = "America/New_York"
MINUTE = timedelta(minutes=1)
TWO_DAYS = 48 * 60
START = datetime(2026, 1, 9, 12, 0, tzinfo=UTC)


def _is_day(at: datetime, zone: str) -> bool:
    return time(8) <= at.astimezone(ZoneInfo(zone)).time() < time(21)


# Clock changes: IANA time zone database, as in tzdata 2026. Kolkata has none and a half hour.
@pytest.mark.parametrize(
    ("noon", "zone"),
    [
        ("2026-03-07T17:00:00+00:00", ZONE),  # clocks go forward in the night of the 8th
        ("2026-10-31T16:00:00+00:00", ZONE),  # and back in the night of the 1st
        ("2026-03-28T11:00:00+00:00", "Europe/Berlin"),
        ("2026-10-03T02:00:00+00:00", "Australia/Lord_Howe"),  # by half an hour
        ("2026-06-01T06:30:00+00:00", "Asia/Kolkata"),
        ("2026-12-31T17:00:00+00:00", ZONE),
    ],
)
def test_every_minute_of_two_days(noon: str, zone: str) -> None:
    """For 48 h: by day at once, at night the first minute of the day; urgent and fresh at once."""
    minutes = [datetime.fromisoformat(noon) + n * MINUTE for n in range(TWO_DAYS)]
    after = minutes[-1] + MINUTE
    coming = awake_at(after, zone)  # the first day minute after each, found by looking
    for now in reversed(minutes):
        coming = now if _is_day(now, zone) else coming
        assert send_time(now, zone) == coming, now
        assert send_time(now, zone, urgent=True) == now
        assert send_time(now, zone, wrote_at=now - FRESH) == now
        assert send_time(now, zone, wrote_at=now - FRESH - MINUTE) == coming


def test_an_hour_that_comes_twice_and_one_that_never_comes() -> None:
    """Both nights a text of 1:30 waits until 8:00 on the wall, 6.5, 5.5 or 7.5 hours later."""
    forward = datetime(2026, 3, 8, 6, 30, tzinfo=UTC)  # 1:30, half an hour before the jump
    first, second = (datetime(2026, 11, 1, hour, 30, tzinfo=UTC) for hour in (5, 6))
    assert awake_at(forward, ZONE) - forward == timedelta(hours=5.5)
    assert awake_at(first, ZONE) - first == timedelta(hours=7.5)
    assert awake_at(second, ZONE) - second == timedelta(hours=6.5)


@given(
    st.lists(st.integers(0, 300), min_size=1, max_size=60).map(sorted),
    st.sampled_from([START, START + timedelta(hours=12, minutes=30)]),
)
def test_never_more_than_five_in_ten_minutes(minutes: list[int], start: datetime) -> None:
    """However they come: at most five in any ten minutes, in order, by day, and none too early."""
    times: list[datetime] = []
    for minute in minutes:
        wanted = start + minute * MINUTE
        times.append(spaced(times[-5:], wanted, ZONE))
        assert times[-1] >= wanted
    assert times == sorted(times)
    assert all(_is_day(at, ZONE) for at in times)
    for at in times:
        assert sum(at - timedelta(minutes=10) < other <= at for other in times) <= 5


def test_a_few_texts_are_not_delayed() -> None:
    """Up to five go at once, the sixth ten minutes after the first."""
    times: list[datetime] = []
    day = START + timedelta(hours=4)
    for _ in range(6):
        times.append(spaced(times, day, ZONE))
    assert times == [day] * 5 + [day + timedelta(minutes=10)]


@pytest.mark.parametrize(
    ("now", "awake"),
    [
        ("2026-01-10T02:00:00+00:00", "2026-01-10T13:00:00+00:00"),  # 9 pm: next 8 am
        ("2026-01-10T01:59:00+00:00", "2026-01-10T01:59:00+00:00"),  # 8:59 pm: now
        ("2026-01-10T12:59:00+00:00", "2026-01-10T13:00:00+00:00"),  # 7:59 am: 8 am today
        ("2026-01-10T13:00:00+00:00", "2026-01-10T13:00:00+00:00"),  # 8 am: now
        ("2026-03-08T03:00:00+00:00", "2026-03-08T12:00:00+00:00"),  # the night clocks go forward
        ("2026-11-01T02:00:00+00:00", "2026-11-01T13:00:00+00:00"),  # the night they go back
    ],
)
def test_nobody_is_woken(now: str, awake: str) -> None:
    """The day lasts from 8 am to 9 pm in building time, on the nights of a clock change too."""
    assert awake_at(datetime.fromisoformat(now), ZONE) == datetime.fromisoformat(awake)
