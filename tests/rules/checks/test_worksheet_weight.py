"""What of a posterior travels to a phone: little, and no less exact than it needs to be."""

from __future__ import annotations

import gzip
import json
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from rules.checks.classes import classes_of
from rules.checks.exactness import NEGLIGIBLE
from rules.checks.tables import shared_table
from rules.checks.worksheet import worksheet
from rules.diagnosis import Diagnosis, diagnose
from rules.model import (
    ApartmentId,
    Evidence,
    HourlyWeather,
    Household,
    Kind,
    Reported,
)
from tests.houses import a_boiler, a_home, a_house, a_loop, a_valve, built, places

NOW = datetime(2027, 1, 14, 19, 0, tzinfo=UTC)
COLD = ("1A", "2B", "3C", "4A")


@pytest.fixture(scope="module")
def evening() -> Diagnosis:
    """Four cold homes of twelve, on two loops with a transformer each."""
    homes = [
        a_home(floor, line, on=1 + (floor > 2), valve=a_valve(f"xf-{1 + (floor > 2)}"))
        for floor, line in places(4, "ABC")
    ]
    plant = built(
        a_house(
            homes,
            [a_loop(1, "xf-1"), a_loop(2, "xf-2")],
            sources=[a_boiler(hot_water="indirect_priority")],
            transformers=("xf-1", "xf-2"),
        )
    )
    evidence = [
        Evidence(
            f"m{n}",
            NOW - timedelta(hours=5 - n),
            Reported(ApartmentId(home), frozenset({Kind.TOO_COLD})),
        )
        for n, home in enumerate(COLD)
    ]
    people = [Household(ApartmentId(a.id)) for a in plant.apartments]
    return diagnose(plant, evidence, people, [HourlyWeather(NOW, 20.0)], NOW)


def test_a_ticket_of_four_homes_is_loaded_in_seconds(evening: Diagnosis) -> None:
    """At 50 kbit/s 100 KB take 16 s."""
    sheet = worksheet(evening, [ApartmentId(home) for home in COLD])

    sent = gzip.compress(json.dumps(sheet, separators=(",", ":")).encode())
    assert len(sent) < 100_000


def test_a_pair_of_faults_errs_by_no_more_than_its_share_allows(evening: Diagnosis) -> None:
    """Its share of the posterior times the error of its logarithm, from merging and from rounding."""
    classes = classes_of(evening.belief, [ApartmentId(home) for home in COLD], set())
    table = shared_table(classes)
    count = len(classes.first)
    share = np.zeros((count, count))
    np.add.at(share, (classes.of_fault[:, None], classes.of_fault[None, :]), classes.weight)
    beside = np.array(table["beside"])
    every = [(a, b) for a in range(count) for b in range(a + 1)]

    worst = 0.0
    for (a, b), pair, number in zip(every, classes.pairs(), table["beside_of"], strict=True):
        if pair is not None:
            error = np.abs(beside[:, number] - classes.beside[:, pair[0], pair[1]]).max()
            worst = max(worst, float(error * share[a, b]))
    assert 0 < worst < 2 * NEGLIGIBLE
    assert len(beside[0]) < len(every) / 3


def test_texts_of_a_check_travel_once(evening: Diagnosis) -> None:
    """Nothing empty, no words of a fault twice, and what is begun with leans on its check."""
    sheet = worksheet(evening, [ApartmentId("1A")])

    assert len(set(sheet["says"])) == len(sheet["says"])
    travelling = {check["check"] for check in sheet["checks"]}
    for check in sheet["checks"]:
        assert all(check.get(name, "x") for name in ("before", "caution", "nothing", "ranges"))
    assert any(step["check"] in travelling for step in sheet["first"])
    for step in sheet["first"]:
        assert ("minutes" in step) == (step["check"] not in travelling)
