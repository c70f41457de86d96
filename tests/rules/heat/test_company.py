"""Homes of a building call together: what that does to what others hide."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from one_home import SET_F, temperature_f
from scipy.stats import binom

from rules.heat.columns import row
from rules.heat.company import SWING_F, crowded_out, delivered, spells_at
from rules.heat.control import ChainKind, Chains
from rules.heat.rooms import Climate, healthy_duty
from rules.plant import Circuit

ZONE_VALVE, OWN_PUMP = ChainKind("zone_valve", "motor_4wire"), ChainKind("zone_circulator", None)
MILD, DESIGN = 55.0, 5.0
FALLING = (MILD, 50.0, 45.0, 38.0, 30.0, 20.0, DESIGN)
HIDDEN = ["switch_open", "isolated_contact_open"]
# Temperature through a design day: by which share of its range each hour from 1 a.m. on lies below the
# highest of the day (handbook table for design days, values from memory).
BELOW_HIGHEST = (
    *(0.88, 0.92, 0.95, 0.98, 1.00, 0.98, 0.91, 0.74, 0.55, 0.38, 0.23, 0.13),
    *(0.05, 0.00, 0.00, 0.06, 0.14, 0.24, 0.39, 0.50, 0.59, 0.68, 0.75, 0.82),
)


def climate(outdoor: float) -> Climate:
    """Weather of this mean at a masonry house."""
    return Climate(outdoor, 13.0, 52.0)


def over_a_day(outdoor: float, kind: ChainKind = ZONE_VALVE, **changed: float):
    """Heat of one home of six on each of two loops, with this fault."""
    return delivered(row(changed)[None, :], kind, spells_at(climate(outdoor), 5, 6))


def felt_f(outdoor: float, **changed: float) -> float:
    """How far that home is off its set point after two days, as it is felt."""
    heat = over_a_day(outdoor, **changed)
    return temperature_f(row(changed)[None, :], heat, climate(outdoor)) - SET_F


def test_the_swing_is_that_of_a_day_with_an_ordinary_range():
    """18 F between the lowest and the highest, the quarters of the day sorted by temperature."""
    above_lowest = sorted(18.0 * (1 - share) for share in BELOW_HIGHEST)
    mean = sum(above_lowest) / 24

    assert sum(above_lowest[:6]) / 6 - mean == pytest.approx(-SWING_F, abs=1.0)
    assert sum(above_lowest[6:18]) / 12 - mean == pytest.approx(0.0, abs=1.0)
    assert sum(above_lowest[18:]) / 6 - mean == pytest.approx(SWING_F, abs=1.0)


@given(st.floats(-20, 75), st.integers(0, 40), st.integers(0, 40))
def test_spells_make_up_a_day(outdoor, on_loop, elsewhere):
    """Their chances add up to one, and none has a chance of others' calls outside 0 to 1."""
    spells = spells_at(climate(outdoor), on_loop, elsewhere)

    assert sum(spell.chance for spell in spells) == pytest.approx(1.0)
    assert all(0 <= s.others_run <= 1 and 0 <= s.others_fire <= 1 for s in spells)


@pytest.mark.parametrize(
    ("outdoor", "chance"), [(60, 0.17), (55, 0.42), (45, 0.75), (30, 0.95), (20, 0.98)]
)
def test_over_a_day_others_run_the_pump_as_often_as_the_trade_finds(outdoor, chance):
    """Six zones on a loop: computed values of the trade notes, order of magnitude, no source."""
    spells = spells_at(climate(outdoor), 5, 6)

    assert sum(s.chance * s.others_run for s in spells) == pytest.approx(chance, abs=0.12)


def test_on_a_mild_day_nobody_calls_for_hours():
    """While it is warm all are satisfied at once; in the small hours somebody calls most of the time."""
    run = [spell.others_run for spell in spells_at(climate(MILD), 5, 6)]

    assert min(run) < 0.1
    assert max(run) > 0.6


def test_on_a_design_day_somebody_always_calls():
    """No hour of it lets all be satisfied."""
    assert min(spell.others_run for spell in spells_at(climate(DESIGN), 5, 6)) > 0.99


def test_a_home_alone_on_its_boiler_has_no_company_at_any_hour():
    """One spell in which nobody else calls."""
    (spell,) = spells_at(climate(MILD), 0, 0)

    assert (spell.chance, spell.others_run, spell.others_fire) == (1.0, 0.0, 0.0)


@pytest.mark.parametrize("hidden", HIDDEN)
def test_what_others_hide_is_felt_when_they_do_not_call(hidden):
    """Whoever feels it finds less heat than comes over the day, and the more the colder it is."""
    felt = []
    for outdoor in FALLING:
        heat = over_a_day(outdoor, **{hidden: 1.0})
        assert heat.felt is not None
        assert heat.felt[0] <= heat.calling[0] + 1e-9
        felt.append(float(heat.felt[0]))

    assert felt == sorted(felt)
    assert felt[0] < 0.4
    assert felt[-1] > 0.99


@pytest.mark.parametrize("hidden", HIDDEN)
def test_a_home_that_others_do_not_help_falls_by_degrees_when_mild_only(hidden):
    """Heat only sometimes, and better as it gets colder; common practice, no source."""
    found = [felt_f(outdoor, **{hidden: 1.0}) for outdoor in FALLING]

    assert found == sorted(found)
    assert found[0] < -2.0
    assert found[FALLING.index(30.0)] > -0.5
    assert found[-1] > -0.1


@pytest.mark.parametrize(
    "changed", [{}, {"motor_dead": 1.0}, {"flow": 0.4}, {"relay_dead": 1.0}, {"output_lost": 0.5}]
)
@pytest.mark.parametrize("kind", [ZONE_VALVE, OWN_PUMP], ids=lambda k: k.zoning)
def test_what_nobody_hides_is_the_same_at_all_hours(kind, changed):
    """A sound home, a dead motor or relay, a weak pump, half a boiler owe nothing to others' calls."""
    heat = over_a_day(MILD, kind, **changed)
    alone = Chains(row(changed)[None, :], kind).among(0.0, 0.0)

    assert heat.calling[0] == pytest.approx(alone.calling[0])
    assert heat.as_felt().calling[0] == pytest.approx(alone.calling[0])


@pytest.mark.parametrize("duty", [0.0, 0.04, 0.27, 0.50, 0.66, 0.87, 1.0])
@pytest.mark.parametrize(("homes", "holds"), [(6, 5), (6, 3), (6, 1), (12, 5), (1, 1)])
def test_a_call_is_one_too_many_if_as_many_others_call_as_a_transformer_holds(homes, holds, duty):
    """Others that call at once are binomial (scipy); duties of the trade notes from 60 F to 5 F."""
    expected = binom.sf(holds - 1, homes - 1, duty)

    assert crowded_out(duty, Circuit(homes, holds)) == pytest.approx(expected)


@pytest.mark.parametrize("duty", [0.04, 0.5, 0.87])
@pytest.mark.parametrize("homes", [2, 6, 20])
def test_where_nobody_knows_what_a_transformer_holds_any_number_short_of_all_is_as_likely(
    homes, duty
):
    """The mean of the binomial chances (scipy) over these numbers."""
    chances = [binom.sf(holds - 1, homes - 1, duty) for holds in range(1, homes)]

    assert crowded_out(duty, Circuit(homes, None)) == pytest.approx(sum(chances) / len(chances))


def test_an_overloaded_transformer_starves_in_the_coldest_spell_first():
    """Cold mornings of a cool day: binomial (scipy) at the duty of each spell."""
    spells = spells_at(climate(40.0), 5, 6, Circuit(6, 4))
    duties = [healthy_duty(climate(40.0 + swing)) for swing in (-SWING_F, 0.0, SWING_F)]
    found = sorted((spell.crowded for spell in spells), reverse=True)

    assert found == pytest.approx([binom.sf(3, 5, duty) for duty in duties])
