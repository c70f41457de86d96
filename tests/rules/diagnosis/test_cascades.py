"""One boiler of several lost: weak heat in deep cold; what they share lost: no heat for anybody."""

from __future__ import annotations

import numpy as np
import pytest
from conftest import NOW, house, report, weather

from rules.diagnosis import diagnose
from rules.diagnosis.space import make_space
from rules.faults.candidates import shared_candidates
from rules.heat.columns import COLUMN, merge, row
from rules.heat.control import ChainKind, Chains, Supply
from rules.model import ApartmentId, CheckId, ComponentId, Evidence, Found, Household
from rules.plant import read_building_document

HOMES = ("1A", "1C", "2B", "3A", "3B", "4A", "4C")


@pytest.fixture(scope="module")
def staged():
    """Four floors on two loops, heated by two equal boilers."""
    return made("fixed")


def made(control):
    """The same with this control."""
    document = house()
    (boiler,) = document["heat_sources"]
    boiler |= {"cascade": "header", "output_btuh": 200_000, "control": control}
    document["heat_sources"] = [boiler, {**boiler, "id": "boiler-2"}]
    plant, problems = read_building_document(document)
    assert plant is not None, problems
    return plant


def final_f(plant, outdoor_f, fault, component, home="2B"):
    """Where a home settles with this fault alone, in F."""
    space = make_space(plant, NOW.date(), outdoor_f)
    number = next(
        n for n, c in enumerate(space.shared) if (c.fault, c.component) == (fault, component)
    )
    kind = space.home_class(ApartmentId(home), None)
    candidates, looks = kind.singles
    look = looks[np.flatnonzero(candidates == number)[0]]
    return float(kind.course.final_f[kind.pattern_of_look[look], kind.pattern_of_own[0]])


@pytest.mark.parametrize("control", ["fixed", "outdoor_reset"])
@pytest.mark.parametrize("boiler", ["boiler-1", "boiler-2"])
def test_a_lost_boiler_of_two_is_felt_in_deep_cold_only(control, boiler):
    """Half of the output covers a mild day and not the design day (13 F); common practice, no source."""
    plant = made(control)

    assert final_f(plant, 40.0, "boiler_lockout", boiler) == pytest.approx(70.0)
    assert final_f(plant, 5.0, "boiler_lockout", boiler) < 66.0


@pytest.mark.parametrize("outdoor_f", [5.0, 40.0])
def test_what_boilers_share_takes_all_heat_in_any_weather(staged, outdoor_f):
    """No gas, and no boiler burns."""
    assert final_f(staged, outdoor_f, "gas_off", "header") < 62.0


@pytest.mark.parametrize(
    ("lost", "left"), [((), 1.0), ((0.25,), 0.75), ((0.25, 0.25), 0.5), ((0.5, 0.5), 0.0)]
)
def test_what_healthy_boilers_give_adds_up(lost, left):
    """Heat under a steady call in a plant that is asked for all of it is the sum of what is healthy."""
    chain = row({})
    for share in lost:
        chain = merge(chain, row({"output_lost": share}))

    heat = Chains(chain[None, :], ChainKind("none", None)).among(1.0, 1.0)

    assert float(heat.calling[0]) == pytest.approx(left)


@pytest.mark.parametrize(("supply", "heat"), [(0.3, 0.3), (0.5, 0.5), (0.9, 0.6)])
def test_half_a_plant_still_sends_what_mild_weather_asks_for(supply, heat):
    """Capacity is a limit, not a factor: min(asked, left), here with 0.6 of the output left."""
    chain = row({"output_lost": 0.4})[None, :]
    sent = Chains(chain, ChainKind("none", None), Supply(supply)).among(1.0, 1.0)

    assert float(sent.calling[0]) == pytest.approx(heat)


def test_a_fault_is_of_one_boiler_or_of_what_they_share(staged):
    """Every row of a heat source stands at each boiler or at the header, never at both."""
    found = shared_candidates(staged, NOW.date())
    at = {
        name: {c.fault for c in found if c.component == name and c.row is not None}
        for name in ("boiler-1", "boiler-2", "header")
    }

    assert at["boiler-1"] == at["boiler-2"]
    assert not at["boiler-1"] & at["header"]
    assert {"gas_off", "boiler_demand_open", "primary_pump_failed"} <= at["header"]
    assert "boiler_lockout" in at["boiler-1"]
    hot = [c.chain[COLUMN["tap_cold"]] for c in found if c.component == "boiler-1"]
    assert max(hot) == 0  # the other boiler heats the tank


def cold_house(plant, outdoor_f, *more):
    """What explains cold homes on both loops, and more."""
    said = [report(home, "too_cold", hours_ago=9 - n) for n, home in enumerate(HOMES)]
    people = [Household(a.id) for a in plant.apartments]
    return diagnose(plant, [*said, *more], people, weather(outdoor_f), NOW)


def scopes(plant, outdoor_f, *more):
    """The ticket with most of them, and its suspicion by component."""
    found = cold_house(plant, outdoor_f, *more)
    group = max(found.groups, key=lambda g: len(g.apartments))
    weight: dict[str, float] = {}
    for suspect in group.suspects:
        weight[suspect.component] = weight.get(suspect.component, 0.0) + suspect.probability
    return group, weight


def test_a_cold_house_in_mild_weather_is_not_one_boiler_of_two(staged):
    """At 45 F half of the plant is enough: no single boiler is suspected, what they share is."""
    found = cold_house(staged, 45.0)

    named = {s.component for group in found.groups for s in group.suspects}
    assert "header" in named
    assert named.isdisjoint({"boiler-1", "boiler-2"})


def test_a_cold_house_in_deep_cold_is_one_boiler_of_two_nobody_knows_which(staged):
    """Neither is likelier than the other, so the ticket is of the cascade."""
    group, weight = scopes(staged, 0.0)

    assert group.apartments == HOMES
    assert (group.scope, group.component) == ("source", "header")
    assert weight["boiler-1"] == pytest.approx(weight["boiler-2"])
    assert weight["boiler-1"] + weight["boiler-2"] > 0.5


def test_a_locked_out_boiler_speaks_for_itself_only(staged):
    """A lock-out read at the second boiler in deep cold names that boiler and clears the first."""
    found = Found(CheckId("display_codes"), ComponentId("boiler-2"), outcome="lockout")
    group, weight = scopes(staged, 0.0, Evidence("finding:t_1", NOW, found))

    assert (group.scope, group.component) == ("source", "boiler-2")
    assert weight["boiler-2"] > 5 * weight.get("boiler-1", 0.0)
    assert group.suspects[0].component == "boiler-2"
