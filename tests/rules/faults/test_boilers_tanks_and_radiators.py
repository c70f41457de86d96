"""What goes by the kind of boiler, by the tank behind it, by how many radiators and vents there are."""

from __future__ import annotations

from datetime import date

import pytest

from rules.faults.candidates import Candidate, local_candidates, shared_candidates
from rules.faults.priors import beta_factor
from rules.heat.columns import COLUMN
from rules.model import ComponentId, FaultId
from rules.plant import Plant
from tests.houses import a_bare_home, a_boiler, a_house, a_loop, built, places

ON = date(2027, 1, 14)
WINDOW_YEARS = 21 / 365.25  # for so long a fault waits unnoticed: common practice, no source


def plant(zoning: str = "none", piping: str = "floors", **boiler: str) -> Plant:
    """Six homes with cast-iron radiators on one loop."""
    homes = [
        a_bare_home(floor, line, zoning=zoning, emitter="cast_iron")
        for floor, line in places(3, "AB")
    ]
    loops = [a_loop(transformer=None, piping=piping)]
    return built(a_house(homes, loops, sources=[a_boiler(**boiler)], transformers=()))


def shared(house: Plant, fault: str, component: str = "boiler-1") -> Candidate:
    """A suspect of several homes."""
    name = FaultId(fault), ComponentId(component)
    return next(c for c in shared_candidates(house, ON) if (c.fault, c.component) == name)


def own(house: Plant, fault: str) -> Candidate:
    """A suspect of the first home's own."""
    found = local_candidates(house, house.apartments[0], ON)
    return next(c for c in found if c.fault == FaultId(fault))


@pytest.mark.parametrize(
    ("kind", "per_100_years"),
    [("hot_water_boiler", 10), ("steam_boiler", 10), ("condensing_boiler", 20)],
)
def test_condensing_boilers_lock_out_twice_as_often(kind: str, per_100_years: float) -> None:
    """Atmospheric burners 10, condensing ones 20 in 100 boiler-years (common practice, no source)."""
    found = shared(plant(kind=kind), "boiler_lockout")

    assert found.prior == pytest.approx(per_100_years / 100 * WINDOW_YEARS, rel=1e-6)


@pytest.mark.parametrize(
    ("hot_water", "cold", "lukewarm", "late"),
    [("indirect", 0.5, 1.0, True), ("tankless_coil", 1.0, 0.0, False), ("separate", 0, 0, False)],
)
def test_a_tank_outlasts_its_boiler(
    hot_water: str, cold: float, lukewarm: float, late: bool
) -> None:
    """A tank gives hot water for hours, a coil none at once, another heater goes on: common practice."""
    chain = shared(plant(hot_water=hot_water), "boiler_lockout").chain
    tap = (chain[COLUMN["tap_cold"]], chain[COLUMN["tap_lukewarm"]])

    assert tap == (cold, lukewarm)
    assert bool(chain[COLUMN["tap_late"]]) is late


def test_a_tank_that_itself_fails_is_cold_when_it_is_spoken_of() -> None:
    """Rooms stay warm: nobody speaks before the tank is cold (common practice, no source)."""
    chain = shared(plant(hot_water="indirect"), "dhw_none").chain

    assert (chain[COLUMN["tap_cold"]], chain[COLUMN["tap_late"]]) == (1.0, 0.0)


@pytest.mark.parametrize(
    ("fault", "kind", "zoning", "of_each"),
    [
        ("trv_stuck_open", "hot_water_boiler", "trv", 2.0),
        ("trv_stuck_closed", "hot_water_boiler", "trv", 1.5),
        ("steam_vent_closed", "steam_boiler", "none", 4.0),
        ("steam_vent_leaking", "steam_boiler", "none", 4.0),
        ("steam_valve_part_shut", "steam_boiler", "none", 5.0),
    ],
)
def test_rates_of_valves_and_vents_count_every_radiator(
    fault: str, kind: str, zoning: str, of_each: float
) -> None:
    """Rates are those of one valve or vent (common practice, no source); a home has three or so."""
    found = own(plant(zoning, kind=kind), fault)

    assert 2.5 <= found.prior / (of_each / 100 * WINDOW_YEARS) <= 4


def test_every_riser_of_steam_has_a_vent_of_its_own() -> None:
    """Main vents fail 6 times in 100 years each, at the main's end and on every riser alike."""
    house = plant(piping="risers", kind="steam_boiler")
    main = shared(house, "steam_main_vent_failed", "loop-1")

    for line in "AB":
        riser = shared(house, "steam_riser_vent_failed", f"loop-1.riser-{line}")
        assert riser.prior == pytest.approx(main.prior)


def test_pumps_of_one_age_do_not_stop_in_one_night() -> None:
    """Whoever's pump stops tells of it within a day; two in one night share no cause of their own."""
    assert beta_factor("circulator") == pytest.approx(0.01)
    assert beta_factor("loop") > beta_factor("circulator")
