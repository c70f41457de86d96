"""The diagnosis against a general Bayesian-network library, and where the time of a diagnosis goes.

The library gets the network that the model is, with one node for the joint shared state and, per home,
its own state and one observed node for all that it said. Shared faults as nodes of their own would give
every home's observation all of them as parents: a table with 2 to the power of so many rows, which no
library holds, and another model (more than two faults at once). Both sides have their tables before
the clock starts: the library its conditional probabilities, we the products of prior and likelihood by
own state. Equal homes are one table on our side, as in the product.

Two questions are fair, and both are printed. "shared": the posterior of the shared state alone, the
least that the library can be asked. "all": that, and of every home its own state, which is what the
library computes if nobody tells it what not to. Its two exact engines are both timed; the ratio is to
the quicker one.

A whole diagnosis is timed with all states: "first" with nothing known of the plant, "weather" when all
tables of the physics must be computed for a new temperature, "anew" when every message is new, "again"
after one message more, which is what happens all day. The last table gives the stages of "again".

Every time is the least of several: what other processes take of the machine is not ours.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import count

import numpy as np
import pyagrum as gum
from rich.console import Console
from rich.table import Table

from rules.checks import order_checks
from rules.choosing.value import question_values
from rules.diagnosis import Diagnosis, causes_of_complaints, diagnose, groups_of
from rules.diagnosis.belief import Belief
from rules.diagnosis.exact import Homes, HomeTable, Posterior, infer
from rules.diagnosis.moment import timeline
from rules.diagnosis.weighing import believe
from rules.model import (
    Answered,
    ApartmentId,
    Evidence,
    HourlyWeather,
    Household,
    Kind,
    Reported,
    TopicId,
)
from rules.parts import load_list
from rules.plant import Plant, read_building_document

__all__ = ["bench_diagnosis"]

_NOW = datetime(2027, 1, 14, 23, 0, tzinfo=UTC)
_HOME = ApartmentId("1A")
# floors, lines, loops: 12, 60 and 200 homes
_HOUSES = ((4, "ABC", 2), (10, "ABCDEF", 5), (20, "ABCDEFGHIJ", 10))
_STATES = 110  # joint shared states both sides get; the library cannot hold ours all
_ENGINES = (gum.LazyPropagation, gum.ShaferShenoyInference)
_STAGES = (
    "evidence to likelihoods",
    "shared posterior",
    "each complaint's causes",
    "groups, suspects, why",
    "questions",
)
_TIMES, _LIBRARY_TIMES = 41, 5


def bench_diagnosis(console: Console) -> None:
    """Print posteriors alone beside the library, whole diagnoses, and the stages of one."""
    beside = Table(title=f"Posteriors alone, the same {_STATES} shared states (ms)")
    for name in ("homes", "of", "ours", "lazy propagation", "Shafer-Shenoy", "ratio", "difference"):
        beside.add_column(name, justify="right")
    whole = Table(title="A whole diagnosis, all shared states (ms)")
    for name in (
        "homes",
        "states",
        "first",
        "weather",
        "anew",
        "again",
        "questions",
        "checks, load",
    ):
        whole.add_column(name, justify="right")
    stages = Table(title="After one message more, by stage (ms)")
    for name in ("homes", *_STAGES, "in all"):
        stages.add_column(name, justify="right")
    for house in _HOUSES:
        plant = _plant(*house)
        _whole(whole, plant)
        _stages(stages, plant)
        _beside(beside, plant)
    for table in (beside, whole, stages):
        console.print(table)


def _whole(table: Table, plant: Plant) -> None:
    people = [Household(a.id) for a in plant.apartments]
    later = _times_later()

    def diagnosed(evidence: list[Evidence], now: datetime, outdoor_f: float = 22.0) -> Diagnosis:
        weather = [HourlyWeather(now + timedelta(hours=h), outdoor_f) for h in range(-24, 25)]
        return diagnose(plant, evidence, people, weather, now)

    def anew() -> Diagnosis:
        now = next(later)
        return diagnosed([replace(e, at=e.at + (now - _NOW)) for e in _evidence()], now)

    def again() -> Diagnosis:
        now = next(later)
        return diagnosed([*_evidence(), _answer(now)], now)

    first_ms = _once_ms(lambda: diagnosed(_evidence(), _NOW))
    temperatures = iter(range(-20, 20))
    weather_ms = _least_ms(lambda: diagnosed(_evidence(), _NOW, float(next(temperatures))), 5)
    diagnosis = again()

    def asked() -> Mapping[TopicId, float]:
        return question_values(diagnosis, _HOME)

    table.add_row(
        str(len(people)),
        f"{len(diagnosis.belief.space.log_prior)}",
        f"{first_ms:.0f}",
        f"{weather_ms:.0f}",
        f"{_least_ms(anew):.1f}",
        f"{_least_ms(again):.1f}",
        f"{_least_ms(asked):.1f} for {len(asked())}",
        f"{_least_ms(lambda: _work(diagnosis)):.1f}",
    )


def _work(diagnosis: Diagnosis) -> None:
    for group in diagnosis.groups:
        order_checks(diagnosis, group)
        load_list(diagnosis, group)


def _stages(table: Table, plant: Plant) -> None:
    people = [a.id for a in plant.apartments]
    weather = [HourlyWeather(_NOW + timedelta(hours=h), 22.0) for h in range(-24, 25)]
    space = diagnose(plant, _evidence(), [], weather, _NOW).belief.space
    took: list[list[float]] = []
    for now, _ in zip(_times_later(), range(_TIMES), strict=False):
        evidence = [*_evidence(), _answer(now)]
        clock = [time.perf_counter()]
        belief = believe(space, evidence, people, timeline(evidence, now, plant.timezone))
        clock.append(time.perf_counter())
        for home in belief.homes.values():
            if home.reported is not None:
                belief.by_row(home)
        clock.append(time.perf_counter())
        causes = causes_of_complaints(belief)
        clock.append(time.perf_counter())
        groups = groups_of(belief, causes, evidence)
        clock.append(time.perf_counter())
        question_values(Diagnosis(plant, belief, groups, causes, ()), _HOME)
        clock.append(time.perf_counter())
        took.append([*np.diff(clock), clock[-1] - clock[0]])
    table.add_row(str(len(people)), *(f"{1000 * t:.2f}" for t in np.min(took, axis=0)))


def _beside(table: Table, plant: Plant) -> None:
    people = [Household(a.id) for a in plant.apartments]
    weather = [HourlyWeather(_NOW + timedelta(hours=h), 22.0) for h in range(-24, 25)]
    belief = diagnose(plant, _evidence(), people, weather, _NOW).belief
    keep = np.argsort(-belief.states)[:_STATES]
    onset, state = np.divmod(keep, len(belief.space.log_prior))
    log_prior = belief.log_prior[keep]
    tables: dict[int, HomeTable] = {}
    for home in belief.homes.values():
        if id(home) not in tables:
            # Of the looks only those that occur, so that both sides work on tables of the same size.
            row = onset * home.kind.shape[0] + home.kind.look_of_state[state]
            used, look = np.unique(row, return_inverse=True)
            said = home.log_likelihood.reshape(-1, home.kind.shape[1])[used]
            tables[id(home)] = HomeTable(said + home.log_prior, look.astype(np.intp))
    homes = [tables[id(home)] for home in belief.homes.values()]
    stacked = Homes.of(homes)
    place = [[*tables].index(id(home)) for home in belief.homes.values()]
    net = _network(log_prior, homes, belief)

    def shared() -> Posterior:
        return infer(log_prior, stacked)

    def both() -> Posterior:
        found = infer(log_prior, stacked)
        _ = found.own
        return found

    for asked, ours in (("shared", shared), ("all", both)):
        names = ["S"] if asked == "shared" else ["S", *(f"L{n}" for n in range(len(homes)))]
        found = ours()
        wanted = [found.shared, *found.own[place]][: len(names)]
        theirs = [lambda e=engine, n=names: _library(net, e, n, len(homes)) for engine in _ENGINES]
        difference = max(
            float(np.abs(a - b).max()) for a, b in zip(wanted, theirs[0](), strict=True)
        )
        our_ms = _least_ms(ours)
        their_ms = [_least_ms(t, _LIBRARY_TIMES) for t in theirs]
        table.add_row(
            str(len(homes)),
            asked,
            f"{our_ms:.3f}",
            *(f"{ms:.1f}" for ms in their_ms),
            f"{min(their_ms) / our_ms:.0f}",
            f"{difference:.0e}",
        )


def _library(net: gum.BayesNet, engine: type, names: list[str], homes: int) -> list[np.ndarray]:  # type: ignore[type-arg]
    """Posteriors of some nodes, all homes' observations being given."""
    inference = engine(net)
    inference.setEvidence({f"E{n}": 1 for n in range(homes)})
    for name in names:
        inference.addTarget(name)
    inference.makeInference()
    return [np.asarray(inference.posterior(name).tolist()) for name in names]


def _network(log_prior: np.ndarray, homes: list[HomeTable], belief: Belief) -> gum.BayesNet:  # type: ignore[type-arg]
    net = gum.BayesNet()
    net.add(gum.RangeVariable("S", "", 0, len(log_prior) - 1))
    prior = np.exp(log_prior - log_prior.max())
    net.cpt("S").fillWith(list(prior / prior.sum()))
    for n, (home, told) in enumerate(zip(belief.homes.values(), homes, strict=True)):
        net.add(gum.RangeVariable(f"L{n}", "", 0, len(home.log_prior) - 1))
        own = np.exp(home.log_prior)
        net.cpt(f"L{n}").fillWith(list(own / own.sum()))
        net.add(gum.RangeVariable(f"E{n}", "", 0, 1))
        net.addArc("S", f"E{n}")
        net.addArc(f"L{n}", f"E{n}")
        said = (told.log_joint - home.log_prior)[told.look]
        likely = np.exp(said - said.max())
        cube = np.stack([1 - likely, likely], axis=-1)
        axes = {"S": 0, f"L{n}": 1, f"E{n}": 2}
        order = [axes[v] for v in reversed(net.cpt(f"E{n}").names)]
        net.cpt(f"E{n}").fillWith(list(np.transpose(cube, order).reshape(-1)))
    return net


def _times_later() -> Iterator[datetime]:
    """A minute later each time."""
    return (_NOW + timedelta(minutes=n) for n in count(1))


def _answer(now: datetime) -> Evidence:
    return Evidence("m_answer", now, Answered(_HOME, TopicId("q_hot"), "cold"))


def _evidence() -> list[Evidence]:
    said = [
        ("1A", "too_cold", 4),
        ("2B", "too_cold", 3),
        ("1C", "too_cold", 1),
        ("3C", "too_hot", 0),
    ]
    return [
        Evidence(
            f"m_{apartment}",
            _NOW - timedelta(hours=hours),
            Reported(ApartmentId(apartment), frozenset({Kind(kind)})),
        )
        for apartment, kind, hours in said
    ]


def _plant(floors: int, lines: str, loops: int) -> Plant:
    def loop_of(floor: int) -> int:
        return (floor - 1) * loops // floors + 1

    plant, problems = read_building_document(
        {
            "schema": 1,
            "building": "bench",
            "name": "Bench house",
            "timezone": "America/New_York",
            "construction": "masonry",
            "heat_sources": [
                {
                    "id": "boiler-1",
                    "kind": "hot_water_boiler",
                    "control": "fixed",
                    "hot_water": "indirect_priority",
                }
            ],
            "transformers": [{"id": f"xf-{n}", "va": 400} for n in range(1, loops + 1)],
            "loops": [
                {
                    "id": f"loop-{n}",
                    "source": "boiler-1",
                    "circulator": {"id": f"pump-{n}"},
                    "relay": {"id": f"relay-{n}", "transformer": f"xf-{n}"},
                }
                for n in range(1, loops + 1)
            ],
            "apartments": [
                {
                    "id": f"{floor}{line}",
                    "floor": floor,
                    "line": line,
                    "emitter": "fin_tube",
                    "loop": f"loop-{loop_of(floor)}",
                    "zoning": "zone_valve",
                    "valve": {"kind": "motor_4wire", "transformer": f"xf-{loop_of(floor)}"},
                    "thermostat": {"kind": "battery"},
                }
                for floor in range(1, floors + 1)
                for line in lines
            ],
        }
    )
    if plant is None:
        raise ValueError("; ".join(p.detail for p in problems))
    return plant


def _once_ms(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1000


def _least_ms(work: Callable[[], object], times: int = _TIMES) -> float:
    return min(_once_ms(work) for _ in range(times))
