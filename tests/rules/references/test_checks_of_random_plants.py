"""Where checks are made: only at parts that the plant has, and at a second one where it tells more."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_plants import NOW, random_document, random_evidence, random_people, random_plant

from rules.checks import order_checks
from rules.checks.places import component_for
from rules.diagnosis import Suspect, diagnose
from rules.faults.candidates import local_candidates, shared_candidates
from rules.faults.catalogue import checks
from rules.model import Evidence, Found
from rules.plant import ComponentKind, Plant, read_building_yaml
from tests.houses import built

PORTFOLIO = Path(__file__).parents[3] / "fixtures" / "portfolio"
seeds = st.integers(0, 2**32 - 1)
few = settings(max_examples=8, deadline=None)


def is_right(plant: Plant, check, component) -> bool:
    """Whether a check can be made at a component: it is of a kind the check is about.

    What is looked at on a loop is looked at on one home's line where that has a pump of its own.
    """
    part = plant.component(component)
    kind = part.kind
    if check.at == "loop" and kind is ComponentKind.CIRCULATOR and part.apartment is not None:
        return True
    name = "source" if kind is ComponentKind.CASCADE else kind.value
    about = name in (check.at, *check.also_at)
    return about or (kind is ComponentKind.RISER and bool(check.on_risers))


def each_place(plant: Plant):
    """Every check of every fault that can be in a plant, and where it would be made."""
    homes = tuple(a.id for a in plant.apartments)
    found = list(shared_candidates(plant, NOW.date()))
    for home in plant.apartments:
        found += local_candidates(plant, home, NOW.date())
    for candidate in found:
        if candidate.row is None:
            continue
        suspect = Suspect(
            candidate.fault, "", candidate.component, 0.5, (), tuple(sorted(candidate.homes))
        )
        for check in {
            checks()[r.check].id: checks()[r.check] for r in candidate.row.checks
        }.values():
            yield candidate, check, component_for(plant, check, suspect, homes)


def wrong_places(plant: Plant) -> list[tuple[str, ...]]:
    """Checks at a part of another kind."""
    return [
        (str(c.fault), str(c.component), str(check.id), str(place))
        for c, check, place in each_place(plant)
        if place is not None and not is_right(plant, check, place)
    ]


@pytest.mark.parametrize("path", sorted(PORTFOLIO.glob("*.yaml")), ids=lambda p: p.stem)
def test_every_check_in_the_portfolio_is_made_at_a_part_of_its_kind(path):
    """Of every fault that can be in the house; where it has no such part the check is left out."""
    plant, problems = read_building_yaml(path.read_text(encoding="utf-8"))
    assert plant is not None, problems

    assert wrong_places(plant) == []


@few
@given(seeds, st.integers(1, 40))
def test_every_check_in_any_plant_is_made_at_a_part_of_its_kind(seed, homes):
    """Any zoning, with and without relays, transformers, thermostats."""
    draw = np.random.default_rng(seed)
    document = random_document(draw, homes)
    for loop in document["loops"]:
        if draw.random() < 0.4:
            del loop["relay"]
        if draw.random() < 0.4:
            loop["piping"] = str(draw.choice(["risers", "floors"]))
    for source in document["heat_sources"]:
        source["kind"] = "hot_water_boiler" if draw.random() < 0.5 else "steam_boiler"

    assert wrong_places(built(document)) == []


def test_no_volts_are_measured_at_a_relay_that_is_not_there():
    """Without a relay its coil cannot be measured; the pump and the rest still can."""
    document = random_document(np.random.default_rng(5), 6)
    for loop in document["loops"]:
        loop.pop("relay", None)
    plant = built(document)

    places = {check.id: place for _, check, place in each_place(plant)}

    assert places["coil_volts"] is None
    pumps = {c.id for c in plant.components.values() if c.kind is ComponentKind.CIRCULATOR}
    assert places["pump_volts"] in pumps


@few
@given(seeds)
def test_what_is_proposed_can_be_made_and_has_not_been_made(seed):
    """Checks of a ticket: at parts of the plant, each once, none that somebody has made there."""
    draw = np.random.default_rng(seed)
    plant = random_plant(draw, int(draw.integers(2, 16)))
    evidence, people = random_evidence(draw, plant), random_people(draw, plant)
    diagnosis = diagnose(plant, evidence, people, [], NOW)
    made = {(f.check, f.component) for f in diagnosis.findings}
    for group in diagnosis.groups:
        steps = order_checks(diagnosis, group)
        assert all(is_right(plant, checks()[s.check], s.component) for s in steps)
        proposed = [(s.check, s.component) for s in steps]
        assert len(proposed) == len(set(proposed))
        assert made.isdisjoint(proposed)


@few
@given(seeds)
def test_a_check_that_is_made_is_not_the_next_one(seed):
    """After any finding at the first proposed place, the same place is not proposed for it again."""
    draw = np.random.default_rng(seed)
    plant = random_plant(draw, int(draw.integers(2, 16)))
    evidence, people = random_evidence(draw, plant), random_people(draw, plant)
    before = diagnose(plant, evidence, people, [], NOW)
    steps = order_checks(before, before.groups[0])
    if not steps:
        return
    first = checks()[steps[0].check]
    good = first.healthy[0]
    value = None if good.reads is None else sum(good.reads) / 2
    fact = Found(first.id, steps[0].component, value, good.unit, good.calling, good.outcome)
    after = diagnose(plant, [*evidence, Evidence("finding:t_9", NOW, fact)], people, [], NOW)

    for group in after.groups:
        again = {(s.check, s.component) for s in order_checks(after, group)}
        assert (first.id, steps[0].component) not in again
