"""What a diagnosis takes: its posterior beside a general library, and where the time of a whole goes.

A whole diagnosis is timed with all states: "first" with nothing known of the plant, "weather" when all
tables of the physics must be computed for a new temperature, "anew" when every message is new, "again"
after one message more, which is what happens all day; "again, asked" with the questions to the home that
wrote. The last table gives the stages of that.

Every time is the least of several: what other processes take of the machine is not ours.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from itertools import islice

import numpy as np
from rich.console import Console
from rich.table import Table

from rules.checks import order_checks
from rules.choosing.value import question_values
from rules.diagnosis import Diagnosis, causes_of_complaints, diagnose, groups_of
from rules.diagnosis.moment import timeline
from rules.diagnosis.weighing import believe
from rules.model import Evidence, HourlyWeather, Household
from rules.parts import load_list
from rules.plant import Plant
from tests.bench.diagnosis_beside_a_library import beside_a_library, library_table
from tests.bench.diagnosis_scenes import (
    HOME,
    HOUSES,
    NOW,
    a_house_of,
    an_answer,
    least_ms,
    least_ms_of,
    messages,
    times_later,
    weather,
)

__all__ = ["bench_diagnosis"]

_STAGES = (
    "what each home said",
    "silence, sum over homes",
    "each complaint's causes",
    "groups, suspects, why",
    "questions",
)
_TIMES, _FEW_TIMES = 81, 5


def bench_diagnosis(console: Console) -> None:
    """Print posteriors alone beside the library, whole diagnoses, and the stages of one."""
    beside = library_table()
    whole = Table(title="A whole diagnosis, all shared states (ms)")
    for name in (
        "homes",
        "states",
        "first",
        "weather",
        "anew",
        "again",
        "questions",
        "again, asked",
        "checks, load",
    ):
        whole.add_column(name, justify="right")
    stages = Table(title="After one message more, by stage (ms)")
    for name in ("homes", *_STAGES, "in all"):
        stages.add_column(name, justify="right")
    for house in HOUSES:
        plant = a_house_of(*house)
        _whole(whole, plant)
        _stages(stages, plant)
        beside_a_library(beside, plant)
    for table in (beside, whole, stages):
        console.print(table)


_Scene = tuple[Sequence[Evidence], Sequence[HourlyWeather], datetime]


def _whole(table: Table, plant: Plant) -> None:
    people = [Household(a.id) for a in plant.apartments]
    later = times_later()

    def diagnosed(scene: _Scene) -> Diagnosis:
        evidence, hours, now = scene
        return diagnose(plant, evidence, people, hours, now)

    def asked(scene: _Scene) -> None:
        question_values(diagnosed(scene), HOME)

    def anew() -> list[_Scene]:
        return [(_moved(now), weather(now), now) for now in islice(later, _TIMES)]

    def again() -> list[_Scene]:
        times = islice(later, _TIMES)
        return [([*messages(), an_answer(now)], weather(now), now) for now in times]

    outdoors = [(messages(), weather(NOW, float(f)), NOW) for f in range(30, 30 + _FEW_TIMES)]
    first_ms = least_ms_of(diagnosed, [(messages(), weather(NOW), NOW)])
    weather_ms = least_ms_of(diagnosed, outdoors)
    anew_ms, again_ms, asked_ms = (
        least_ms_of(work, scenes)
        for work, scenes in ((diagnosed, anew()), (diagnosed, again()), (asked, again()))
    )
    diagnosis = diagnosed(again()[-1])
    questions = len(question_values(diagnosis, HOME))
    table.add_row(
        str(len(people)),
        str(len(diagnosis.belief.space.log_prior)),
        f"{first_ms:.0f}",
        f"{weather_ms:.0f}",
        f"{anew_ms:.1f}",
        f"{again_ms:.1f}",
        f"{least_ms(lambda: question_values(diagnosis, HOME), _TIMES):.1f} for {questions}",
        f"{asked_ms:.1f}",
        f"{least_ms(lambda: _work(diagnosis), _TIMES):.1f}",
    )


def _moved(now: datetime) -> list[Evidence]:
    """The messages as if they had come so much later."""
    return [replace(e, at=e.at + (now - NOW)) for e in messages()]


def _work(diagnosis: Diagnosis) -> None:
    for group in diagnosis.groups:
        order_checks(diagnosis, group)
        load_list(diagnosis, group)


def _stages(table: Table, plant: Plant) -> None:
    people = [a.id for a in plant.apartments]
    space = diagnose(plant, messages(), [], weather(NOW), NOW).belief.space
    took: list[list[float]] = []
    for now, _ in zip(times_later(), range(_TIMES), strict=False):
        evidence = [*messages(), an_answer(now)]
        clock = [time.perf_counter()]
        belief = believe(space, evidence, people, timeline(evidence, now, plant.timezone))
        for home in belief.homes.values():
            if home.said:
                _ = home.log_total
        clock.append(time.perf_counter())
        _ = belief.chances
        clock.append(time.perf_counter())
        causes = causes_of_complaints(belief)
        clock.append(time.perf_counter())
        groups = groups_of(belief, causes, evidence)
        clock.append(time.perf_counter())
        question_values(Diagnosis(plant, belief, groups, causes, ()), HOME)
        clock.append(time.perf_counter())
        took.append([*np.diff(clock), clock[-1] - clock[0]])
    table.add_row(str(len(people)), *(f"{1000 * t:.2f}" for t in np.min(took, axis=0)))
