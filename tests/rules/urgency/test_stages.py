"""A report that has become another story is due from then.

What is expected of each case is a dispatcher's judgement: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.model import HourlyWeather, Kind
from rules.urgency import Report, RespondBy, respond_by, stages

MONDAY = datetime(2026, 1, 5, 14, 0, tzinfo=UTC)  # 9 am in New York
COLD = frozenset({Kind.TOO_COLD})
Told = tuple[float, float]  # hours after the report, room in F


def due(
    rooms: Sequence[Told],
    *,
    kinds: dict[Kind, float] | None = None,
    danger: tuple[str, ...] = (),
    rule: str = "us-ny-nyc",
    begun: datetime = MONDAY,
    hours: float = 0,
) -> RespondBy:
    """The time of one home that told these rooms and kinds, looked at so long after the last word."""
    told = kinds or {Kind.TOO_COLD: 0}
    last = max([h for h, _ in rooms] + [*told.values()])
    now = begun + timedelta(hours=last + hours)
    report = Report(
        home="1A",
        since=begun,
        kinds=frozenset(told),
        danger=danger,
        room_f=rooms[-1][1] if rooms else None,
    )
    weather = [HourlyWeather(now + timedelta(hours=h), 45.0) for h in range(-48, 49)]
    read = [(begun + timedelta(hours=h), room_f) for h, room_f in rooms]
    first = {kind: begun + timedelta(hours=h) for kind, h in told.items()}
    return respond_by(
        now=now,
        timezone="America/New_York",
        heat_rule=rule,
        weather=weather,
        reports=[*stages(report, read, first)],
        shared=False,
    )


def after(found: RespondBy, begun: datetime = MONDAY) -> float:
    """Hours from the report until somebody must act."""
    return (found.at - begun) / timedelta(hours=1)


@pytest.mark.parametrize("days", [1, 2, 2.9])
def test_a_chilly_room_that_turns_cold_is_due_from_then(days: float) -> None:
    """71 F, then 61: New York asks for 68 F (Administrative Code 27-2029), missed since the second."""
    assert after(due([(0, 71)])) > 24
    found = due([(0, 71), (days * 24, 61)])

    assert after(found) == days * 24
    assert "61 F" in found.because[0].rule
    begun = MONDAY + timedelta(days=days)
    house = [b for b in found.because if "64 F is under" in b.rule]
    assert [b.at for b in house] == [begun + timedelta(hours=24)]


def test_a_room_that_was_cold_all_along_is_due_from_the_report() -> None:
    """63 on Monday, 62 on Wednesday."""
    assert after(due([(0, 63), (48, 62)])) == 0


def test_a_thermometer_that_is_read_later_tells_of_the_time_before() -> None:
    """ "No heat" on Monday; asked on Tuesday, 60."""
    assert after(due([(24, 60)])) == 0


def test_a_room_that_has_recovered_is_due_as_it_is() -> None:
    """60 on Monday, 71 on Tuesday."""
    found = due([(0, 60), (24, 71)])

    assert not [b for b in found.because if "heat law" in b.rule or "60 F" in b.rule]
    assert after(found) == 72


def test_what_is_told_on_top_counts_from_then() -> None:
    """Chilly on Monday; a leak, or gas, on Wednesday."""
    leak = due([(0, 71)], kinds={Kind.TOO_COLD: 0, Kind.LEAK: 48})
    gas = due([(0, 71)], kinds={Kind.TOO_COLD: 0, Kind.GAS_SMELL: 48}, danger=("gas",))

    assert after(leak) == 48 + 4
    assert gas.danger
    assert after(gas) == 48


def test_a_danger_is_read_first_beside_a_home_that_has_been_cold_for_longer() -> None:
    """60 F since yesterday in 4B; gas now in 2A: overdue already, and the line that is read says gas."""
    now = MONDAY + timedelta(days=1)
    cold = Report(home="4B", since=MONDAY, kinds=COLD, room_f=60.0)
    gas = Report(home="2A", since=now, kinds=frozenset({Kind.GAS_SMELL}), danger=("gas",))
    found = respond_by(
        now=now,
        timezone="America/New_York",
        heat_rule="us-ny-nyc",
        weather=[],
        reports=[cold, gas],
        shared=True,
    )

    assert found.at == MONDAY
    assert "danger to life" in found.because[0].rule


def test_a_room_turns_from_too_cold_to_too_hot() -> None:
    """60 on Monday, 86 on Wednesday: what is over 85 F is so since Wednesday, and nothing is cold."""
    kinds = {Kind.TOO_COLD: 0.0, Kind.TOO_HOT: 48.0}
    found = due([(0, 60), (48, 86)], kinds=kinds)

    assert [b.at for b in found.because if "over 85 F" in b.rule] == [MONDAY + timedelta(hours=52)]
    assert not [b for b in found.because if "heat law" in b.rule]


def test_a_floor_counts_from_when_the_law_asks_for_it() -> None:
    """64 F told in September: New York asks for heat from October 1 (Administrative Code 27-2029)."""
    september = datetime(2026, 9, 28, 14, 0, tzinfo=UTC)
    found = due([(0, 64)], begun=september, hours=80)
    law = next(b for b in found.because if "64 F, under the 68 F" in b.rule)

    assert law.at == datetime(2026, 10, 1, 10, 0, tzinfo=UTC)  # 6 am, when the day's floor begins


rooms_told = st.lists(st.tuples(st.floats(0, 96), st.integers(50, 90)), min_size=1, max_size=5).map(
    sorted
)


@given(rooms_told)
def test_no_stage_is_colder_or_hotter_than_the_room_is_now(rooms: list[Told]) -> None:
    """What was and is no more meets no rule; the last stage is what is known now."""
    read = [(MONDAY + timedelta(hours=h), float(room_f)) for h, room_f in rooms]
    now_f = read[-1][1]
    report = Report(home="1A", since=MONDAY, kinds=COLD, room_f=now_f)

    found = [*stages(report, read, {Kind.TOO_COLD: MONDAY})]

    assert found[0].since == MONDAY
    assert [s.since for s in found] == sorted(s.since for s in found)
    for stage in found:
        assert stage.room_f is not None
        assert min(now_f, 72) <= stage.room_f <= max(now_f, 72)


@given(rooms_told, st.integers(40, 60), st.floats(0.1, 48))
def test_a_colder_room_is_never_due_later(rooms: list[Told], colder: int, later: float) -> None:
    """Somebody who tells of a room colder than all before is not put back by it."""
    before = due(rooms, rule="none")
    told = [*rooms, (rooms[-1][0] + later, min(colder, *(f for _, f in rooms)) - 1)]

    assert due(told, rule="none").at <= max(before.at, MONDAY + timedelta(hours=told[-1][0] + 4)), (
        told
    )
