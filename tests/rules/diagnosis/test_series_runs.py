"""One pipe through home after home: who is cold depends on where the water stops."""

from __future__ import annotations

from math import exp

import pytest
from conftest import NOW, house, report, weather

from rules.checks import order_checks
from rules.diagnosis import diagnose
from rules.diagnosis.space import make_space
from rules.faults.candidates import local_candidates, shared_candidates
from rules.heat.distribution import series_flow, series_heat
from rules.model import ApartmentId, Household
from tests.houses import built

ORDER = ("1A", "1B", "2B", "2A", "3A", "3B")


@pytest.fixture(scope="module")
def run():
    """Six homes without controls of their own on one series loop, up one side and over."""
    document = house(3, "AB", 1)
    document["loops"][0]["piping"] = "series"
    document["transformers"] = []
    document["loops"][0]["relay"] = None
    del document["loops"][0]["relay"]
    for home in document["apartments"]:
        del home["valve"], home["thermostat"]
        home |= {"zoning": "none", "position": ORDER.index(home["id"]) + 1}
    return built(document)


def final_f(plant, fault, component, home):
    """Where a home settles with this fault alone, in F, on a cold day."""
    space = make_space(plant, NOW.date(), 13.0)
    number = next(
        n for n, c in enumerate(space.shared) if (c.fault, c.component) == (fault, component)
    )
    kind = space.home_class(ApartmentId(home), None)
    candidates, looks = kind.singles
    at = looks[candidates == number]
    look = at[0] if len(at) else kind.nothing
    return float(kind.course.final_f[kind.pattern_of_look[look], kind.pattern_of_own[0]])


def test_homes_follow_each_other_by_position(run):
    """The file gives the order of the pipe, which is not that of floors and lines."""
    assert run.runs[0].homes == ORDER
    assert run.runs[0].after(ApartmentId("2A")) == ("2A", "3A", "3B")
    assert run.risers == ()


def test_without_positions_the_order_of_the_file_counts(run):
    """And who has one comes before who has none."""
    document = run.document()
    for home in document["apartments"]:
        if home["id"] != "3B":
            del home["position"]
    plant = built(document)
    assert plant.runs[0].homes == ("3B", "1A", "1B", "2A", "2B", "3A")


def test_what_stops_the_water_at_one_home_starves_all_that_follow(run):
    """Common practice: one closed or air-bound point stops everything downstream of it."""
    found = {
        c.component: c.homes
        for c in shared_candidates(run, NOW.date())
        if c.fault == "isolation_valve_closed_zone"
    }
    assert found == {home: frozenset(ORDER[n:]) for n, home in enumerate(ORDER[:-1])}

    cold = [final_f(run, "isolation_valve_closed_zone", "2A", home) < 60 for home in ORDER]
    assert cold == [False, False, False, True, True, True]


@pytest.mark.parametrize("home", ORDER)
def test_a_stop_is_own_only_at_the_end(run, home):
    """Nobody follows the last home, so its pipes are its own; the others' are everybody's after it."""
    own = {c.fault for c in local_candidates(run, run.apartment(ApartmentId(home)), NOW.date())}
    assert ("isolation_valve_closed_zone" in own) is (home == ORDER[-1])
    assert "window_open" in own


@pytest.mark.parametrize("flow", [0.1, 0.25, 0.5, 0.9])
@pytest.mark.parametrize("place", [0, 2, 5])
def test_little_water_gives_its_heat_to_the_first(flow, place):
    """Heat exchanger at constant room temperature: lead of the water exp(-NTU x); worked by hand here.

    Sized for 20 F of 100 F at full flow, so NTU = -ln 0.8 = 0.223 of all six together.
    """
    ntu = 0.22314355
    lead = exp(-ntu / flow * place / 6) - exp(-ntu / flow * (place + 1) / 6)
    full = exp(-ntu * place / 6) - exp(-ntu * (place + 1) / 6)

    assert series_heat(flow, place, 6) == pytest.approx(flow * lead / full, rel=1e-6)


def test_a_quarter_of_the_flow_gives_more_than_half_of_the_heat():
    """Q = 500 x gpm x dT: the water cools by 1 - 0.8^4 = 59 F, not 20, so 0.25 x 59 / 20 = 74 %."""
    together = sum(series_heat(0.25, n, 6) * 0.8 ** (n / 6) for n in range(6))
    weights = sum(0.8 ** (n / 6) for n in range(6))

    assert together / weights == pytest.approx(0.25 * (1 - 0.8**4) / 0.2, rel=1e-9)
    assert series_flow(0.25 * (1 - 0.8**4) / 0.2) == pytest.approx(0.25, rel=1e-9)
    with pytest.raises(ValueError, match="share of heat"):
        series_flow(1.0)


def test_a_weak_pump_starves_the_far_end_first(run):
    """With the same fault each home is colder than the one before it, the first hardly at all."""
    weak = [final_f(run, "pump_wrong_speed_low", "pump-1", home) for home in ORDER]

    assert weak == sorted(weak, reverse=True)
    assert weak[0] - weak[-1] > 5


def test_the_homes_after_one_point_are_one_ticket_of_the_loop(run):
    """Cold from the fourth home on and warm before: the stop is at the fourth, which is looked at."""
    said = [report(home, "too_cold", hours_ago=9 - n) for n, home in enumerate(ORDER[3:])]
    people = [Household(a.id) for a in run.apartments]
    diagnosis = diagnose(run, said, people, weather(13.0), NOW)

    (group,) = diagnosis.groups
    assert group.scope == "loop"
    at = {s.component for s in group.suspects[:3]}
    assert "2A" in at
    places = {step.component for step in order_checks(diagnosis, group)}
    assert places & {"2A", "loop-1"}


def test_an_unbalanced_direct_return_leaves_the_far_home_cold_and_the_near_one_warm(run):
    """First on is first back: the near homes want nothing on a cold day, the last one does."""
    document = run.document()
    document["loops"][0]["piping"] = "direct_return"
    plant = built(document)

    near, *_, far = (final_f(plant, "balance_error", "loop-1", home) for home in ORDER)

    assert far < 62
    assert near > 68


def test_who_is_stopped_on_a_direct_return_is_stopped_alone(run):
    """Branches lie in parallel: a shut valve at one is that home's own."""
    document = run.document()
    document["loops"][0]["piping"] = "direct_return"
    plant = built(document)

    shared = {c.fault for c in shared_candidates(plant, NOW.date())}
    own = {c.fault for c in local_candidates(plant, plant.apartments[0], NOW.date())}

    assert "isolation_valve_closed_zone" not in shared
    assert "isolation_valve_closed_zone" in own
