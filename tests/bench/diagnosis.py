"""The diagnosis against a general Bayesian-network library, on the same model in the same run."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import numpy as np
import pyagrum as gum
from rich.console import Console
from rich.table import Table

from rules.asking.value import question_values
from rules.checks import order_checks
from rules.diagnosis import Diagnosis, diagnose
from rules.diagnosis.belief import Belief
from rules.diagnosis.exact import Floats, HomeTable, Indices, infer
from rules.model import ApartmentId, Evidence, HourlyWeather, Household, Kind, Reported
from rules.parts import load_list
from rules.plant import Plant, read_building_document

__all__ = ["bench_diagnosis"]

_NOW = datetime(2027, 1, 14, 23, 0, tzinfo=UTC)
# floors, lines, loops: 12, 60 and 200 homes
_HOUSES = ((4, "ABC", 2), (10, "ABCDEF", 5), (20, "ABCDEFGHIJ", 10))
_STATES = 110  # joint shared states both sides get; the library cannot hold ours all


def bench_diagnosis(console: Console) -> None:
    """Print posteriors alone beside the library, and a whole re-diagnosis in its parts."""
    beside = Table(title=f"Posteriors alone, the same {_STATES} shared states (medians)")
    for name in ("homes", "ours ms", "library ms", "ratio", "largest difference"):
        beside.add_column(name, justify="right")
    whole = Table(title="A whole re-diagnosis, all shared states (medians, ms)")
    for name in ("homes", "states", "first time", "again", "questions", "checks and load"):
        whole.add_column(name, justify="right")
    for house in _HOUSES:
        _measure(beside, whole, _plant(*house))
    console.print(beside)
    console.print(whole)


def _measure(beside: Table, whole: Table, plant: Plant) -> None:
    evidence, home = _evidence(), ApartmentId("1A")
    people = [Household(a.id) for a in plant.apartments]
    weather = [HourlyWeather(_NOW + timedelta(hours=h), 22.0) for h in range(-24, 25)]

    def again() -> Diagnosis:
        return diagnose(plant, evidence, people, weather, _NOW)

    first_ms = _once_ms(again)
    diagnosis = again()
    _beside(beside, len(people), diagnosis.belief)
    whole.add_row(
        str(len(people)),
        f"{len(diagnosis.belief.space.log_prior)}",
        f"{first_ms:.0f}",
        f"{_median_ms(again, 5):.1f}",
        f"{_median_ms(lambda: question_values(diagnosis, home), 5):.1f}",
        f"{_median_ms(lambda: _work(diagnosis), 5):.1f}",
    )


def _work(diagnosis: Diagnosis) -> None:
    for group in diagnosis.groups:
        order_checks(diagnosis, group)
        load_list(diagnosis, group)


def _beside(table: Table, homes: int, belief: Belief) -> None:
    keep = np.argsort(-belief.states)[:_STATES]
    log_prior = belief.log_prior[keep]
    # Homes that are equal in all are one object, as in the product; of the looks only those that
    # occur, so that both sides work on tables of the same size.
    small: dict[int, tuple[Floats, Indices]] = {}
    for home in belief.homes.values():
        if id(home) not in small:
            used, index = np.unique(home.look[keep], return_inverse=True)
            rows = home.log_likelihood[used] + home.log_prior
            small[id(home)] = (rows, index.astype(np.intp))

    def ours() -> np.ndarray:  # type: ignore[type-arg]
        tables = {which: HomeTable(*table) for which, table in small.items()}
        return infer(log_prior, [tables[id(home)] for home in belief.homes.values()]).shared

    net = _network(log_prior, belief, keep)

    def theirs() -> np.ndarray:  # type: ignore[type-arg]
        engine = gum.LazyPropagation(net)
        engine.setEvidence({f"E{n}": 1 for n in range(homes)})
        engine.addTarget("S")
        engine.makeInference()
        return np.asarray(engine.posterior("S").tolist())

    difference = float(np.abs(ours() - theirs()).max())
    our_ms = _median_ms(ours, 15)
    their_ms = _median_ms(theirs, 3)
    table.add_row(
        str(homes),
        f"{our_ms:.2f}",
        f"{their_ms:.1f}",
        f"{their_ms / our_ms:.0f}",
        f"{difference:.0e}",
    )


def _network(log_prior: np.ndarray, belief: Belief, keep: np.ndarray) -> gum.BayesNet:  # type: ignore[type-arg]
    net = gum.BayesNet()
    net.add(gum.RangeVariable("S", "", 0, len(keep) - 1))
    prior = np.exp(log_prior - log_prior.max())
    net.cpt("S").fillWith(list(prior / prior.sum()))
    for n, home in enumerate(belief.homes.values()):
        net.add(gum.RangeVariable(f"L{n}", "", 0, len(home.log_prior) - 1))
        own = np.exp(home.log_prior)
        net.cpt(f"L{n}").fillWith(list(own / own.sum()))
        net.add(gum.RangeVariable(f"E{n}", "", 0, 1))
        net.addArc("S", f"E{n}")
        net.addArc(f"L{n}", f"E{n}")
        said = home.log_likelihood[home.look[keep]]
        likely = np.exp(said - said.max())
        cube = np.stack([1 - likely, likely], axis=-1)
        axes = {"S": 0, f"L{n}": 1, f"E{n}": 2}
        order = [axes[v] for v in reversed(net.cpt(f"E{n}").names)]
        net.cpt(f"E{n}").fillWith(list(np.transpose(cube, order).reshape(-1)))
    return net


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


def _median_ms(work: Callable[[], object], times: int) -> float:
    return statistics.median(_once_ms(work) for _ in range(times))
