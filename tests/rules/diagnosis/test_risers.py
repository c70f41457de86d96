"""Trouble in one riser of a loop: who feels it, what it is called, what is measured."""

from __future__ import annotations

import numpy as np
import pytest
from conftest import NOW, house, report, weather

from rules.checks import order_checks
from rules.diagnosis import diagnose
from rules.diagnosis.space import make_space
from rules.faults.candidates import shared_candidates
from rules.model import (
    Answered,
    ApartmentId,
    CheckId,
    ComponentId,
    Evidence,
    Found,
    Household,
    TopicId,
)
from tests.houses import built

RISER = ComponentId("loop-1.riser-B")
COLD_LINE = [
    report("2B", "too_cold", hours_ago=9),
    report("4B", "too_cold", hours_ago=8),
    report("5B", "too_cold", hours_ago=7),
    *(
        Evidence(f"hot_{home}", NOW, Answered(ApartmentId(home), TopicId("q_hot"), "cold"))
        for home in ("2B", "4B", "5B")
    ),
]


@pytest.fixture(scope="module")
def tower():
    """Six floors, three lines, one loop."""
    return built(house(6, "ABC", 1))


def diagnosed(plant, *more):
    """What explains the cold line and more."""
    people = [Household(a.id) for a in plant.apartments]
    return diagnose(plant, [*COLD_LINE, *more], people, weather(), NOW)


def on_riser(group, riser=RISER):
    """How much of the suspicion is a riser's."""
    return sum(s.probability for s in group.suspects if s.component == riser)


def test_three_cold_homes_of_one_line_are_one_ticket_of_their_riser(tower):
    """Beside twelve homes of other lines that say nothing, the riser holds most of the suspicion."""
    (group,) = diagnosed(tower).groups

    assert group.apartments == ("2B", "4B", "5B")
    assert (group.scope, group.component) == ("riser", RISER)
    assert on_riser(group) > 0.5
    leading = group.suspects[0]
    assert leading.component == RISER
    assert leading.reaches == ("1B", "2B", "3B", "4B", "5B", "6B")


def test_a_loop_said_to_run_along_the_floors_has_no_suspect_riser(tower):
    """What the file says about the pipes counts."""
    document = tower.document()
    document["loops"][0]["piping"] = "floors"

    groups = diagnosed(built(document)).groups

    assert {group.scope for group in groups} <= {"apartment", "loop", "source", "building"}
    assert not any(on_riser(group) for group in groups)


def test_a_dead_riser_leaves_the_other_lines_warm(tower):
    """The flow of the homes of its line is gone; the others keep theirs."""
    space = make_space(tower, NOW.date(), 22.0)
    number = next(
        n
        for n, c in enumerate(space.shared)
        if (c.fault, c.component) == ("gate_valve_disc_dropped", RISER)
    )
    final = {}
    for home in ("2B", "2A"):
        kind = space.home_class(ApartmentId(home), None)
        candidates, looks = kind.singles
        at = looks[candidates == number]
        look = at[0] if len(at) else kind.nothing
        final[home] = float(kind.course.final_f[kind.pattern_of_look[look], kind.pattern_of_own[0]])

    assert final["2A"] == pytest.approx(70.0)
    assert final["2B"] < 60


def test_what_may_be_in_the_loop_or_in_its_risers_keeps_its_rate(tower):
    """The stated rate of air or a dropped disc is the loop's with its risers, not once for each."""
    flat = built(
        {**tower.document(), "loops": [{**tower.document()["loops"][0], "piping": "floors"}]}
    )

    for fault in ("air_bound_loop", "gate_valve_disc_dropped", "balance_error"):
        chances = [
            [c for c in shared_candidates(plant, NOW.date()) if c.fault == fault]
            for plant in (tower, flat)
        ]
        assert {c.component for c in chances[0]} == {
            "loop-1",
            "loop-1.riser-A",
            "loop-1.riser-B",
            "loop-1.riser-C",
        }
        assert sum(c.prior for c in chances[0]) == pytest.approx(sum(c.prior for c in chances[1]))


def test_a_shut_riser_valve_is_looked_for_at_the_riser_and_found(tower):
    """The check is proposed at that riser; its valve found shut settles it, found open clears it."""
    diagnosis = diagnosed(tower)
    steps = order_checks(diagnosis, diagnosis.groups[0])
    handles = next(s for s in steps if s.check == "valve_handles")
    assert handles.component == RISER
    assert "riser" in handles.do

    def blocked(outcome):
        found = Found(CheckId("valve_handles"), RISER, outcome=outcome)
        (group,) = diagnosed(tower, Evidence("finding:t_1", NOW, found)).groups
        return sum(s.probability for s in group.suspects if s.fault == "riser_blocked")

    assert blocked("riser_closed") > 0.8
    assert blocked("as_tagged") < 0.1


def test_a_reading_at_one_riser_says_nothing_of_another(tower):
    """A cold riser A, measured because it was at hand, does not move what is believed of riser B."""
    before = diagnosed(tower)
    cold = Found(CheckId("valve_handles"), ComponentId("loop-1.riser-A"), outcome="riser_closed")
    after = diagnosed(tower, Evidence("finding:t_1", NOW, cold))
    risers = [
        np.array([c.component == RISER for c in d.belief.space.shared]) for d in (before, after)
    ]

    def alone(diagnosis, mask):
        singles = diagnosis.belief.chances.of_all.sum(axis=0)[1 : 1 + len(mask)]
        return singles[mask] / singles[mask].sum()

    assert alone(after, risers[1]) == pytest.approx(alone(before, risers[0]), rel=1e-6)


@pytest.mark.parametrize("kind", ["hot_water_boiler", "steam_boiler"])
def test_every_row_of_a_riser_is_at_every_riser(tower, kind):
    """Water and steam each have rows of their own; nothing stands at a riser twice."""
    document = tower.document()
    document["heat_sources"][0]["kind"] = kind
    found = [
        (c.component, c.fault)
        for c in shared_candidates(built(document), NOW.date())
        if c.component.startswith("loop-1.riser-")
    ]
    by_riser = {r: {f for c, f in found if c == r} for r, _ in found}

    assert len(found) == len(set(found))
    assert len(by_riser) == 3
    assert len({frozenset(f) for f in by_riser.values()}) == 1
