"""What weather does to a fault in every topology that can have it: results of the model, not rows.

The signs (better or worse as it gets colder, only when mild, only when cold) are common practice, no
source; figures in degrees are computed values of a two-loop masonry house, order of magnitude, no
source.
"""

from __future__ import annotations

import pytest
from one_home import SET_F, temperature_f

from rules.heat.columns import row
from rules.heat.company import Spell, delivered, others_calling, spells_at
from rules.heat.control import ChainKind, Chains
from rules.heat.rooms import Climate, healthy_duty, supply_at
from rules.plant import Circuit

MILD, COOL, COLD, DESIGN = 55.0, 45.0, 30.0, 5.0
FALLING = (60.0, MILD, COOL, COLD, 20.0, DESIGN)
FOUR_WIRE = ChainKind("zone_valve", "motor_4wire")
TWO_WIRE = ChainKind("zone_valve", "motor_2wire")
NORMALLY_OPEN = ChainKind("zone_valve", "normally_open")
OWN_PUMP = ChainKind("zone_circulator", None)
RADIATOR_VALVES, NO_CONTROL = ChainKind("trv", None), ChainKind("none", None)
WITH_END_SWITCH = [
    ChainKind("zone_valve", kind) for kind in ("motor_4wire", "motor_3wire", "heat_motor", "wax")
]
CLOSED_WITHOUT_POWER = [*WITH_END_SWITCH, TWO_WIRE]


def off_f(
    outdoor: float,
    kind: ChainKind,
    *,
    others: int = 5,
    reset: bool = False,
    swings: bool = True,
    holds: int | None = None,
    **changed: float,
) -> float:
    """How far one home of a loop is from 70 F after two days with one fault.

    Args:
        outdoor: temperature.
        kind: of its chain.
        others: homes on its loop beside it; as many on the other loop.
        reset: whether the water follows the weather.
        swings: whether a day has warm and cold hours, in which homes call together. The house whose
            figures are compared with had weather that stood still.
        holds: how many homes of the loop their transformer holds at once, if that is known.
        changed: columns of the chain.
    """
    climate = Climate(outdoor, 13.0, 52.0)
    spells = spells_at(climate, others, others, Circuit(others + 1, holds))
    if not swings:
        company = others_calling(healthy_duty(climate), others)
        spells = (Spell(1.0, company, company),)
    rows = row(changed)[None, :]
    supply = supply_at(climate, follows_weather=reset, rooms_controlled=kind.zoning != "none")
    return temperature_f(rows, delivered(rows, kind, spells, supply), climate) - SET_F


@pytest.mark.parametrize("kind", WITH_END_SWITCH, ids=lambda k: k.valve_kind)
def test_a_failed_open_end_switch_is_felt_when_mild_and_heals_in_the_cold(kind):
    """Others run the pump in the cold; at 45 F a home sags by up to 1 F, more in the warm hours."""
    found = [off_f(outdoor, kind, switch_open=1) for outdoor in FALLING[1:]]

    assert found == sorted(found)
    assert found[0] < -1.5
    assert -1.2 < off_f(COOL, kind, switch_open=1, swings=False) < -0.3
    assert -2.0 < off_f(COOL, kind, switch_open=1) < off_f(COOL, kind, switch_open=1, swings=False)
    assert found[-1] > -0.1


def test_where_a_panel_starts_the_pump_no_end_switch_can_fail():
    """A two-wire valve has no end switch."""
    assert off_f(MILD, TWO_WIRE, switch_open=1) == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize("kind", [FOUR_WIRE, TWO_WIRE, OWN_PUMP], ids=lambda k: k.zoning)
def test_a_dead_isolated_contact_heals_in_the_cold_too(kind):
    """Other loops ask the boiler for heat, the more the colder it is."""
    assert off_f(MILD, kind, isolated_contact_open=1) < -1
    assert off_f(DESIGN, kind, isolated_contact_open=1) > -0.1


def test_nobody_hides_the_isolated_contact_of_a_single_loop():
    """Without another loop the boiler is never asked, in any weather."""
    climate = Climate(DESIGN, 13.0, 52.0)
    rows = row({"isolated_contact_open": 1})[None, :]
    alone = Chains(rows, FOUR_WIRE).among(others_calling(healthy_duty(climate), 5), 0.0)

    assert float(alone.calling[0]) <= 0.1


@pytest.mark.parametrize("kind", CLOSED_WITHOUT_POWER, ids=lambda k: k.valve_kind)
@pytest.mark.parametrize("holds", [None, 3])
def test_an_overloaded_transformer_gets_worse_in_the_cold(kind, holds):
    """More zones call at once; the last callers lose; in mild weather all is well."""
    found = [off_f(outdoor, kind, holds=holds, power_short=1) for outdoor in FALLING]

    assert found == sorted(found, reverse=True)
    assert found[FALLING.index(COOL)] > -0.1
    assert found[-1] < -8


def test_the_less_a_transformer_holds_the_milder_the_weather_in_which_it_is_felt():
    """Six homes: who can have only one valve open is cold long before who can have five."""
    felt = [
        sum(off_f(outdoor, FOUR_WIRE, holds=holds, power_short=1) < -1 for outdoor in range(60))
        for holds in range(1, 7)
    ]

    assert felt == sorted(set(felt), reverse=True)
    assert felt[-1] == 0


@pytest.mark.parametrize(
    "kind", [*CLOSED_WITHOUT_POWER, NORMALLY_OPEN, RADIATOR_VALVES], ids=lambda k: str(k.valve_kind)
)
def test_a_valve_stuck_open_overheats_most_when_mild(kind):
    """Heat loss absorbs it: about +15 F at 45 F and +5 F at 5 F outdoors."""
    found = [off_f(outdoor, kind, valve_open=1, switch_closed=1) for outdoor in FALLING[1:]]

    assert found == sorted(found, reverse=True)
    assert off_f(COOL, kind, valve_open=1, switch_closed=1) == pytest.approx(15, abs=3.5)
    assert off_f(DESIGN, kind, valve_open=1, switch_closed=1) == pytest.approx(5, abs=3.5)


@pytest.mark.parametrize(
    "changed", [{"valve_open": 1, "switch_open": 1}, {"no_power": 1}], ids=["stuck", "unpowered"]
)
def test_an_open_valve_that_starts_no_pump_overheats_most_between_45_and_30(changed):
    """It needs others to call, but loss must not absorb it: next to zero at 60 F, +9 F at its peak."""
    kind = NORMALLY_OPEN if "no_power" in changed else FOUR_WIRE
    found = {outdoor: off_f(outdoor, kind, **changed) for outdoor in FALLING}

    assert max(found, key=lambda outdoor: found[outdoor]) in (COOL, COLD)
    assert off_f(60.0, kind, swings=False, **changed) < 2.5
    assert max(found.values()) == pytest.approx(9, abs=2)
    assert found[DESIGN] == pytest.approx(3, abs=2)


@pytest.mark.parametrize("kind", [*CLOSED_WITHOUT_POWER, OWN_PUMP], ids=lambda k: str(k.valve_kind))
def test_a_call_without_end_is_a_cold_complaint_with_a_window_open_on_a_design_day(kind):
    """What overheats a home at 45 F does not even hold it at 5 F beside an open window."""
    assert off_f(COOL, kind, always_calls=1) > 10
    assert off_f(DESIGN, kind, always_calls=1, loss=1.8) < -4


@pytest.mark.parametrize("kind", [RADIATOR_VALVES, NO_CONTROL], ids=lambda k: k.zoning)
def test_water_that_is_too_hot_for_the_weather_is_felt_when_mild(kind):
    """On a design day a curve asks for all there is anyway."""
    mild = off_f(COOL, kind, reset=True, water_shift_f=30)

    assert mild > 3
    assert off_f(DESIGN, kind, reset=True, water_shift_f=30) < mild / 2


@pytest.mark.parametrize("kind", [FOUR_WIRE, OWN_PUMP], ids=lambda k: k.zoning)
def test_a_thermostat_holds_a_room_although_the_water_is_too_hot(kind):
    """What shuts when satisfied lets nothing by."""
    assert off_f(COOL, kind, reset=True, water_shift_f=30) == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize(
    ("kind", "changed"),
    [
        (RADIATOR_VALVES, {"reset": True, "water_shift_f": -30.0}),
        (FOUR_WIRE, {"water_shift_f": -45.0}),
        (OWN_PUMP, {"flow": 0.55}),
        (FOUR_WIRE, {"output_lost": 0.35}),
        (FOUR_WIRE, {"emitter": 0.55}),
        (TWO_WIRE, {"loss": 1.35}),
    ],
    ids=["curve", "aquastat", "flow", "boiler", "covered", "loss"],
)
def test_what_is_short_is_felt_in_the_cold_only(kind, changed):
    """Curve or boiler thermostat low, weak pump, part of a boiler, cover, loss: capacity falls short."""
    assert off_f(COOL, kind, **changed) == pytest.approx(0, abs=0.01)
    assert off_f(DESIGN, kind, **changed) < -3


def test_a_check_valve_that_stands_open_heats_zones_with_a_pump_when_mild():
    """Other zones' pumps push hot water round; a shut zone valve stops it."""
    assert off_f(COOL, OWN_PUMP, check_leak=0.5) > 2
    assert off_f(DESIGN, OWN_PUMP, check_leak=0.5) == pytest.approx(0, abs=0.01)
    assert off_f(COOL, FOUR_WIRE, check_leak=0.5) == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize(("outdoor", "above"), [(50.0, 3.0), (60.0, 7.0)])
def test_a_small_leak_past_a_valve_is_masked_unless_the_pump_never_stops(outdoor, above):
    """A leak of 15 % gives 30 % of full heat: +3 F at 50 F, +7 F at 60 F if the pump always runs."""
    assert off_f(outdoor, FOUR_WIRE, leak=0.3) == pytest.approx(0, abs=0.5)
    assert off_f(outdoor, FOUR_WIRE, leak=0.3, relay_welded=1) == pytest.approx(above, abs=1.5)


def test_a_large_leak_past_a_valve_is_felt_when_mild():
    """A leak of 30 %, nearly half of full heat: +1 to +4 F at 45-55 F, no effect in deep cold."""
    assert 1 < off_f(COOL, FOUR_WIRE, leak=0.45) < 4
    assert 1 < off_f(MILD, FOUR_WIRE, swings=False, leak=0.45) < 4
    assert off_f(DESIGN, FOUR_WIRE, leak=0.45) == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize("gain_f", [18.0, 8.0, 6.0], ids=["sun", "neighbour", "corridor"])
def test_heat_from_elsewhere_is_felt_when_mild_only(gain_f):
    """Sun through 40 sq ft of glass, an overheated neighbour, a bare main: the loss absorbs them."""
    assert off_f(60.0, FOUR_WIRE, gain_f=gain_f) > 0.5
    assert off_f(COLD, FOUR_WIRE, gain_f=gain_f) == pytest.approx(0, abs=0.01)
