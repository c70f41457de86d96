"""The houses, messages and times that the diagnosis is measured with; all made up."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from functools import partial
from itertools import count
from typing import TypeVar

from rules.model import Answered, ApartmentId, Evidence, HourlyWeather, Kind, Reported, TopicId
from rules.plant import Plant
from tests.houses import a_boiler, a_home, a_house, a_loop, a_valve, built, places

__all__ = [
    "HOME",
    "HOUSES",
    "NOW",
    "a_house_of",
    "an_answer",
    "least_ms",
    "least_ms_of",
    "messages",
    "once_ms",
    "times_later",
    "weather",
]

T = TypeVar("T")

NOW = datetime(2027, 1, 14, 18, 0, tzinfo=UTC)
HOME = ApartmentId("1A")
# floors, lines, loops: 12, 60 and 200 homes
HOUSES = ((4, "ABC", 2), (10, "ABCDEF", 5), (20, "ABCDEFGHIJ", 10))


def a_house_of(floors: int, lines: str, loops: int) -> Plant:
    """Floors are shared out over loops from the bottom."""

    def on(floor: int) -> int:
        return (floor - 1) * loops // floors + 1

    homes = (
        a_home(floor, line, on=on(floor), valve=a_valve(f"xf-{on(floor)}"))
        for floor, line in places(floors, lines)
    )
    numbers = range(1, loops + 1)
    return built(
        a_house(
            homes,
            [a_loop(n, f"xf-{n}") for n in numbers],
            sources=[a_boiler(hot_water="indirect_priority")],
            transformers=[f"xf-{n}" for n in numbers],
            va=400,
        )
    )


def messages() -> list[Evidence]:
    """Three cold homes within four hours, and a hot one."""
    said = [
        ("1A", "too_cold", 4),
        ("2B", "too_cold", 3),
        ("1C", "too_cold", 1),
        ("3C", "too_hot", 0),
    ]
    return [
        Evidence(
            f"m_{home}",
            NOW - timedelta(hours=hours),
            Reported(ApartmentId(home), frozenset({Kind(kind)})),
        )
        for home, kind, hours in said
    ]


def an_answer(now: datetime) -> Evidence:
    """The one message more."""
    return Evidence("m_answer", now, Answered(HOME, TopicId("q_hot"), "cold"))


def weather(now: datetime, outdoor_f: float = 22.0) -> Sequence[HourlyWeather]:
    """Two steady days around an instant."""
    return [HourlyWeather(now + timedelta(hours=h), outdoor_f) for h in range(-24, 25)]


def times_later() -> Iterator[datetime]:
    """A minute later each time."""
    return (NOW + timedelta(minutes=n) for n in count(1))


def once_ms(work: Callable[[], object]) -> float:
    """What the work takes."""
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1000


def least_ms(work: Callable[[], object], times: int) -> float:
    """The least of several times: what other processes take of the machine is not ours."""
    return min(once_ms(work) for _ in range(times))


def least_ms_of(work: Callable[[T], object], scenes: Iterable[T]) -> float:
    """The least over some scenes, each met for the first time; what makes them is not timed."""
    return min(once_ms(partial(work, scene)) for scene in scenes)
