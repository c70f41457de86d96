"""By when somebody must act: single rules with their sources, and what may never happen."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.model import Care, HourlyWeather, Kind
from rules.urgency import Forecast, Report, RespondBy, Severity, respond_by, severity
from rules.urgency.triggers import _trigger, next_working_morning

ZONE = ZoneInfo("America/New_York")
NOON = datetime(2026, 1, 14, 12, tzinfo=ZONE)  # a Wednesday
HOUR = timedelta(hours=1)


def _weather(outdoor_f: float, start: datetime = NOON) -> tuple[HourlyWeather, ...]:
    return tuple(HourlyWeather(start + n * HOUR, outdoor_f) for n in range(-3, 73))


def _falling(start_f: float, rate: float, start: datetime = NOON) -> Forecast:
    return Forecast(tuple((start + n * HOUR, start_f - rate * n) for n in range(49)))


def _by(**changes: Any) -> RespondBy:
    """One home's report, in two halves where it told two temperatures, and so many like it besides."""
    given_facts: dict[str, Any] = {
        "now": NOON,
        "opened_at": NOON,
        "timezone": "America/New_York",
        "heat_rule": "none",
        "weather": _weather(50),
        "kinds": frozenset({Kind.TOO_COLD}),
        "danger": (),
        "care": frozenset(),
        "lowest_room_f": None,
        "highest_room_f": None,
        "homes": 1,
        "shared": False,
    }
    told = given_facts | changes
    low, high = told.pop("lowest_room_f"), told.pop("highest_room_f")
    since, homes = told.pop("opened_at"), told.pop("homes")
    own = {"kinds", "danger", "care", "answered", "indoor", "guessed", "seen"} & told.keys()
    said = {name: told.pop(name) for name in own}
    rooms = list(dict.fromkeys(f for f in (low, high) if f is not None)) or [None]
    reports = [Report(home="1A", since=since, room_f=f, **said) for f in rooms]
    reports += [
        Report(home=f"{n}B", since=since, kinds=frozenset({Kind.OTHER})) for n in range(1, homes)
    ]
    return respond_by(reports=reports, **told)


def _hours(result: RespondBy) -> float:
    return (result.at - NOON) / HOUR


# Trade classes: within hours 4 h, within the day 24 h, within days 72 h, planned 10 days. Common
# practice, no source, but for the temperatures: HHSRS 50 F, NIA 60 F, WHO 64.4 F (18 C).
CARE = frozenset({Care.OVER65})
NONE: frozenset[Kind] = frozenset()
TRIGGERS = [
    pytest.param({"kinds": frozenset({Kind.OTHER})}, 240, id="anything"),
    pytest.param({"kinds": frozenset({Kind.NOISE})}, 72, id="noise"),
    pytest.param({"lowest_room_f": 67}, 72, id="66 to 68 F"),
    pytest.param(
        {"kinds": frozenset({Kind.TOO_HOT}), "highest_room_f": 78}, 72, id="78 is not over"
    ),
    pytest.param({}, 24, id="cold, not measured"),
    pytest.param({"lowest_room_f": 65.9}, 24, id="under 66 F"),
    pytest.param({"kinds": frozenset({Kind.NO_HOT_WATER})}, 24, id="no hot water"),
    pytest.param({"kinds": frozenset({Kind.TOO_HOT}), "highest_room_f": 79}, 24, id="over 78 F"),
    pytest.param({"lowest_room_f": 67, "care": CARE}, 24, id="cold with care"),
    pytest.param({"kinds": NONE, "lowest_room_f": 59.9}, 4, id="under 60 F in any season"),
    pytest.param({"lowest_room_f": 64.3, "care": CARE}, 4, id="care under 64 F"),
    pytest.param({"weather": _weather(39)}, 4, id="under 40 F outside"),
    pytest.param({"weather": _weather(39), "lowest_room_f": 67}, 72, id="cold out, warm enough in"),
    pytest.param({"homes": 3, "shared": True}, 4, id="three homes, one cause"),
    pytest.param({"homes": 3, "shared": False}, 24, id="three homes, separate causes"),
    pytest.param({"kinds": frozenset({Kind.LEAK})}, 4, id="leak"),
    pytest.param({"kinds": frozenset({Kind.CO_ALARM})}, 4, id="chirping alarm"),
    pytest.param({"kinds": NONE, "highest_room_f": 85.5}, 4, id="over 85 F"),
    pytest.param({"kinds": NONE, "highest_room_f": 81, "care": CARE}, 4, id="over 80 F with care"),
    pytest.param({"indoor": _falling(64, 0.15)}, 4, id="forecast under 62 F by morning"),
    pytest.param({"lowest_room_f": 67, "indoor": _falling(67, 0.2)}, 72, id="forecast mild"),
]


@pytest.mark.parametrize(("changes", "hours"), TRIGGERS)
def test_house_rules(changes: dict[str, Any], hours: float) -> None:
    """Each row of the table sets the time of its class, counted from the complaint."""
    assert _hours(_by(**changes)) == hours


@pytest.mark.parametrize(
    "kind", ["gas", "co", "fire", "electrical", "water_electrics", "scald", "hypothermia", "new"]
)
def test_danger_is_at_once(kind: str) -> None:
    """Any danger, known to the table or not, sets the time of the complaint and comes first."""
    result = _by(danger=(kind,))
    assert result.at == NOON
    assert result.danger
    assert "danger to life" in result.because[0].rule


def test_reading_under_the_legal_floor_is_at_once() -> None:
    """NYC at noon with 50 F outside asks for 68 F (nycourts.gov); 67.9 F is under it."""
    result = _by(heat_rule="us-ny-nyc", lowest_room_f=67.9)
    assert result.at == NOON
    assert "67.9" in result.because[0].rule
    assert "nycourts.gov" in result.because[0].source


def test_new_york_gives_a_day_to_put_heat_right() -> None:
    """NYC class C: 24 h to correct, shown among the reasons (secondary source)."""
    result = _by(heat_rule="us-ny-nyc", lowest_room_f=66)
    due = [b for b in result.because if "24 hours" in b.rule]
    assert [b.at for b in due] == [NOON + 24 * HOUR]
    unread = _by(heat_rule="us-ny-nyc")
    assert any("24 hours" in b.rule for b in unread.because)


def test_a_room_over_the_legal_floor_is_no_home_without_heat() -> None:
    """72 F is over New York's 68 F: chilly, so for days (trade class of 66 F and more)."""
    result = _by(heat_rule="us-ny-nyc", lowest_room_f=72)
    assert not [b for b in result.because if "No heat" in b.rule]
    assert _hours(result) == 72


def test_a_room_within_the_law_that_was_looked_at_in_vain_is_planned() -> None:
    """Planned: "expectation" of the trade's classes (common practice, no source)."""
    assert _hours(_by(heat_rule="us-ny-nyc", lowest_room_f=72, seen=True)) == 240
    assert _hours(_by(heat_rule="us-ny-nyc", lowest_room_f=67, seen=True)) == 0
    assert _hours(_by(heat_rule="us-ny-nyc", seen=True)) == 24
    assert _by(heat_rule="us-ny-nyc", lowest_room_f=72, seen=True, danger=("gas",)).at == NOON


@pytest.mark.parametrize(
    ("clock", "room_f", "care", "due"),
    [
        ("23:30", 67.0, frozenset(), "07:00"),
        ("03:00", 66.0, frozenset(), "07:00"),
        ("23:30", 65.9, frozenset(), "23:30"),
        ("23:30", 67.0, frozenset({Care.OVER65}), "23:30"),
        ("20:30", 67.0, frozenset(), "20:30"),
    ],
)
def test_nobody_is_sent_by_night_for_a_room_slightly_too_cool(
    clock: str, room_f: float, care: frozenset[Care], due: str
) -> None:
    """Philadelphia asks for 68 F day and night (PM-602); 66 to 68 F waits for the morning."""
    at = datetime.fromisoformat(f"2026-01-14T{clock}").replace(tzinfo=ZONE)
    result = _by(
        now=at, opened_at=at, heat_rule="us-pa-philadelphia", lowest_room_f=room_f, care=care,
        weather=_weather(45, at),
    )  # fmt: skip
    assert f"{result.at.astimezone(ZONE):%H:%M}" == due
    assert result.at - at < timedelta(hours=8)


def test_a_floor_that_is_passed_by_night_waits_until_it_is_really_cold() -> None:
    """From 69 F at 10 pm: at 0.25 F an hour it is 66.75 F at 7 am, at 0.5 F an hour 66 F at 4 am."""
    at = datetime(2026, 1, 14, 22, tzinfo=ZONE)
    told: dict[str, Any] = {
        "now": at, "opened_at": at, "heat_rule": "us-pa-philadelphia", "lowest_room_f": 69,
        "weather": _weather(45, at),
    }  # fmt: skip
    slow = _by(**told, indoor=_falling(69, 0.25, at))
    fast = _by(**told, indoor=_falling(69, 0.5, at))
    assert f"{slow.at.astimezone(ZONE):%H:%M}" == "07:00"
    assert f"{fast.at.astimezone(ZONE):%H:%M}" == "04:01"


def test_each_rule_counts_from_the_report_that_meets_it() -> None:
    """72 F a week ago and 61 F of another home now: due now, not a week ago."""
    old = Report(home="1A", since=NOON - 48 * HOUR, kinds=frozenset({Kind.TOO_COLD}), room_f=72)
    new = Report(home="3A", since=NOON, kinds=frozenset({Kind.TOO_COLD}), room_f=61)
    result = respond_by(
        now=NOON, timezone="America/New_York", heat_rule="us-ny-nyc", weather=_weather(36),
        reports=[new, old], shared=True,
    )  # fmt: skip
    assert result.at == NOON
    assert "61 F" in result.because[0].rule
    assert [b.at for b in result.because if "Too cold or too hot" in b.rule] == [NOON + 24 * HOUR]


def test_several_homes_count_from_the_third() -> None:
    """Three homes of one cause: within 4 hours from when the third one reported."""
    reports = [
        Report(home=home, since=NOON - n * HOUR, kinds=frozenset({Kind.TOO_COLD}), room_f=67)
        for n, home in enumerate(("3A", "2A", "1A"))
    ]
    result = respond_by(
        now=NOON, timezone="America/New_York", heat_rule="none", weather=_weather(50),
        reports=reports, shared=True,
    )  # fmt: skip
    assert result.at == NOON + 4 * HOUR
    assert "Several homes" in result.because[0].rule


def test_forecast_passing_the_floor_sets_the_minute() -> None:
    """From 70 F at 1.5 F an hour 68 F is reached after 1 h 20 min, passed a minute later."""
    result = _by(heat_rule="us-ny-nyc", lowest_room_f=70, indoor=_falling(70, 1.5))
    assert result.at == NOON + timedelta(hours=1, minutes=21)


def test_a_home_that_reads_the_floor_has_passed_it_a_degree_later() -> None:
    """68 F at 0.5 F an hour reads 67 F after two hours, the way thermometers show whole degrees."""
    result = _by(heat_rule="us-ny-nyc", lowest_room_f=68, indoor=_falling(68, 0.5))
    assert result.at == NOON + timedelta(hours=2, minutes=1)


def test_what_nobody_has_read_is_for_within_hours() -> None:
    """A guess under 68 F sends somebody within 4 hours (common practice, no source), not at once."""
    result = _by(heat_rule="us-ny-nyc", lowest_room_f=None, guessed=_falling(67, 0.5))
    assert [b.at for b in result.because if "nobody has read" in b.rule] == [NOON + 4 * HOUR]
    assert not [b for b in result.because if b.at == NOON]


def test_a_thermometer_outweighs_the_guess_for_another_home() -> None:
    """One home reads 66 F under the law's 68 F: at once, whatever is guessed of its neighbour."""
    result = _by(
        heat_rule="us-ny-nyc", lowest_room_f=66, indoor=_falling(66, 0.5), guessed=_falling(67, 0.5)
    )
    assert result.at == NOON


def test_scalding_taps_do_not_wait_for_a_planned_visit() -> None:
    """Within hours with a child or an old person at home (trade practice), else within the day."""
    scalds = {"kinds": frozenset({Kind.OTHER}), "answered": frozenset({("q_dhw", "too_hot")})}
    assert _hours(_by(**scalds, care=frozenset({Care.CHILD}))) == 4
    assert _hours(_by(**scalds)) == 24
    assert (
        _hours(_by(kinds=frozenset({Kind.OTHER}), answered=frozenset({("q_dhw", "normal")}))) == 240
    )


def test_floor_that_rises_in_the_morning_is_passed_then() -> None:
    """65 F all night is lawful in New York until 6 am, when 68 F is asked for."""
    night = datetime(2026, 1, 14, 23, tzinfo=ZONE)
    flat = Forecast(tuple((night + n * HOUR, 65.0) for n in range(24)))
    weather = _weather(45, night)
    result = _by(
        now=night, opened_at=night, heat_rule="us-ny-nyc", weather=weather,
        lowest_room_f=65, kinds=frozenset({Kind.NOISE}), indoor=flat,
    )  # fmt: skip
    assert result.at == datetime(2026, 1, 15, 6, tzinfo=ZONE)


def test_over_the_ceiling_is_the_same_day() -> None:
    """Massachusetts: 79 F is over the 78 F ceiling and cites the code; 78 F is not."""
    over = _by(heat_rule="us-ma", kinds=frozenset({Kind.TOO_HOT}), highest_room_f=79)
    at_limit = _by(heat_rule="us-ma", kinds=frozenset({Kind.TOO_HOT}), highest_room_f=78)
    assert [b.at for b in over.because if "limit" in b.rule] == [NOON + 24 * HOUR]
    assert not [b for b in at_limit.because if "limit" in b.rule]


def test_reasons_are_in_order_and_have_sources() -> None:
    """The first reason is the time itself; each names a rule and a source."""
    result = _by(heat_rule="us-ny-nyc", lowest_room_f=58, care=CARE, weather=_weather(15))
    times = [b.at for b in result.because]
    assert times == sorted(times)
    assert result.at == times[0]
    assert all(b.rule and b.source for b in result.because)
    assert any("freeze" in b.rule for b in result.because)


def test_looking_again_later_does_not_move_the_time() -> None:
    """An hour later the same facts give the same time, because it counts from the complaint."""
    first = _by(heat_rule="us-ny-nyc", lowest_room_f=60, danger=("gas",))
    later = _by(heat_rule="us-ny-nyc", lowest_room_f=60, danger=("gas",), now=NOON + HOUR)
    assert later.at == first.at


def test_times_are_cut_to_the_minute() -> None:
    """No promise of seconds."""
    opened = NOON + timedelta(seconds=42, microseconds=7)
    result = _by(opened_at=opened, now=opened)
    assert (result.at.second, result.at.microsecond) == (0, 0)
    assert result.at <= opened + 24 * HOUR


def test_elapsed_hours_through_the_clock_change() -> None:
    """T7: 24 h on the night the clocks go back means 24 elapsed hours, 23 on the wall."""
    saturday = datetime(2026, 10, 31, 20, tzinfo=ZONE)
    result = _by(now=saturday, opened_at=saturday, weather=_weather(50, saturday))
    assert result.at.astimezone(ZONE).hour == 19


@pytest.mark.parametrize(
    ("now", "morning"),
    [
        ("2026-01-14T07:59", "2026-01-14T08:00"),
        ("2026-01-14T08:00", "2026-01-15T08:00"),
        ("2026-01-16T12:00", "2026-01-19T08:00"),  # Friday noon to Monday
        ("2026-10-31T12:00", "2026-11-02T08:00"),  # over the clock change
    ],
)
def test_next_working_morning(now: str, morning: str) -> None:
    """8 am of the next Monday to Friday, on the wall."""
    local = datetime.fromisoformat(now).replace(tzinfo=ZONE)
    assert next_working_morning(local, "America/New_York").isoformat()[:16] == morning


def test_unknown_condition_in_the_table_is_refused() -> None:
    """A mistyped condition must not make a row apply to everything."""
    row = {"id": "x", "within": "planned", "says": "x", "source": "x", "when": {"rom_below_f": 60}}
    with pytest.raises(ValueError, match="rom_below_f"):
        _trigger(row, {"planned": {"hours": 240, "says": "x"}})


def test_older_person_at_59_f_is_at_least_serious() -> None:
    """H1: 59 F with somebody of 80 at home is serious in any season (HHSRS: serious under 16 C)."""
    rung = severity(59, CARE)
    assert rung >= Severity.SERIOUS


cares = st.frozensets(st.sampled_from(Care))
rooms = st.none() | st.floats(30, 100)


@st.composite
def facts(draw: st.DrawFn) -> dict[str, Any]:
    """Any state of a ticket."""
    start = NOON + draw(st.integers(-4000, 4000)) * HOUR
    low = draw(rooms)
    falling = draw(st.none() | st.tuples(st.floats(40, 75), st.floats(-1, 3)))
    return {
        "now": start,
        "opened_at": start - draw(st.integers(0, 30)) * HOUR,
        "heat_rule": draw(
            st.sampled_from(["us-ny-nyc", "us-ma", "us-il-chicago", "us-pa-philadelphia", "none"])
        ),
        "weather": draw(
            st.just(()) | st.floats(-10, 70).map(lambda outdoor_f: _weather(outdoor_f, start))
        ),
        "kinds": draw(st.frozensets(st.sampled_from(Kind), min_size=1)),
        "danger": draw(st.sampled_from([(), ("gas",)])),
        "care": draw(cares),
        "lowest_room_f": low,
        "highest_room_f": None if low is None else low + draw(st.floats(0, 20)),
        "homes": draw(st.integers(1, 6)),
        "shared": draw(st.booleans()),
        "indoor": None if falling is None else _falling(*falling, start),
    }


@given(before=facts(), more=cares)
def test_care_never_makes_it_later(before: dict[str, Any], more: frozenset[Care]) -> None:
    """One more person to care for moves the time earlier or not at all, and severity up (H2)."""
    after = before | {"care": before["care"] | more}
    assert _by(**after).at <= _by(**before).at
    assert _by(**after).severity >= _by(**before).severity


@given(before=facts(), colder=st.floats(0, 40))
def test_a_colder_home_is_never_later(before: dict[str, Any], colder: float) -> None:
    """A lower reading and a lower forecast move the time earlier or not at all (H2)."""
    after = dict(before)
    if before["lowest_room_f"] is not None:
        after["lowest_room_f"] = before["lowest_room_f"] - colder
    if before["indoor"] is not None:
        after["indoor"] = Forecast(tuple((t, f - colder) for t, f in before["indoor"].hours))
    assert _by(**after).at <= _by(**before).at
    assert _by(**after).severity >= _by(**before).severity


@given(before=facts(), colder=st.floats(0, 40))
def test_colder_weather_is_never_later(before: dict[str, Any], colder: float) -> None:
    """A lower outdoor temperature moves the time earlier or not at all."""
    weather = tuple(HourlyWeather(w.at, w.outdoor_f - colder) for w in before["weather"])
    assert _by(**(before | {"weather": weather})).at <= _by(**before).at


@given(before=facts(), danger=st.sampled_from(["gas", "co", "scald"]))
def test_danger_never_makes_it_later(before: dict[str, Any], danger: str) -> None:
    """A danger moves the time earlier or not at all."""
    after = before | {"danger": (*before["danger"], danger)}
    assert _by(**after).at <= _by(**before).at


@given(before=facts(), homes=st.integers(0, 10), kinds=st.frozensets(st.sampled_from(Kind)))
def test_more_homes_or_complaints_never_make_it_later(
    before: dict[str, Any], homes: int, kinds: frozenset[Kind]
) -> None:
    """Another home, a shared cause or another kind of complaint never moves the time later."""
    after = before | {
        "homes": before["homes"] + homes,
        "shared": True,
        "kinds": before["kinds"] | kinds,
    }
    assert _by(**after).at <= _by(**before).at


@given(state=facts())
def test_the_time_is_never_before_the_complaint_unless_forecast(state: dict[str, Any]) -> None:
    """No rule counts from before the complaint: the ticket was not there yet."""
    result = _by(**state)
    assert result.at >= state["opened_at"].replace(second=0, microsecond=0)
    assert (result.at, result.because) == (_by(**state).at, _by(**state).because)
    assert result.at.tzinfo is UTC
