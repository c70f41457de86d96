"""Figures of a plant beside its checks: flow of a loop, hit of a valve, how long homes last."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from rules.checks import order_checks
from rules.checks.figures import caution_here, coasting, healthy_here, loop_btuh
from rules.checks.notes import notes
from rules.diagnosis import diagnose
from rules.faults.catalogue import checks, faults
from rules.heat.rooms import Climate
from rules.model import (
    ApartmentId,
    CheckId,
    ComponentId,
    Evidence,
    FaultId,
    HourlyWeather,
    Household,
    Kind,
    Reported,
)
from tests.houses import a_boiler, a_home, a_house, a_loop, built

NOW = datetime(2027, 1, 14, 23, 0, tzinfo=UTC)
COLD = Climate(13.0, 13.0, 52.0)
LOOP_DT = checks()[CheckId("loop_dt")]


def plant(output: int | None = 200_000, control: str = "fixed", homes: tuple[int, int] = (2, 2)):
    """Two loops on one boiler, with so many homes each, nothing dated."""
    source = a_boiler(control=control) | ({} if output is None else {"output_btuh": output})
    each = [a_home(n, line, on=n) for n in (1, 2) for line in "ABC"[: homes[n - 1]]]
    return built(a_house(each, [a_loop(1), a_loop(2)], sources=[source]))


def test_a_loops_share_and_its_flow_are_said_beside_the_check():
    """100,000 Btu/h at 20 F are 10 gpm (500 x gpm x F, ACHR News 125638); 10 F is twice the flow."""
    says = healthy_here(plant(), COLD, LOOP_DT, ComponentId("loop-1"))

    assert says.startswith(LOOP_DT.healthy_text)
    assert "about 100,000 Btu/h, 20 F is 10 gpm, 10 F 20 gpm and 40 F 5.0 gpm" in says
    assert "outdoor reset" not in says


def test_shares_go_by_homes_and_add_up():
    """Three homes of four take three quarters."""
    uneven = plant(homes=(3, 1))

    shares = [loop_btuh(uneven, ComponentId(f"loop-{n}")) for n in (1, 2)]

    assert shares == [150_000, 50_000]


@pytest.mark.parametrize(
    ("outdoor_f", "degrees"),
    [
        (13.0, 20),  # design day: all of it
        (38.4, 10),  # half way from 63.8 F, where people and sun alone hold 70 F, to 13 F
        (63.8, 0),
    ],
)
def test_with_outdoor_reset_less_is_healthy_in_mild_weather(outdoor_f, degrees):
    """Heat need falls on a straight line to where free heat is enough, and the difference with it."""
    climate = Climate(outdoor_f, 13.0, 52.0)

    says = healthy_here(plant(control="outdoor_reset"), climate, LOOP_DT, ComponentId("loop-1"))

    assert says.endswith(f"expect about {degrees} F at {outdoor_f:.0f} F out")


def test_without_the_boilers_output_the_table_speaks():
    """A file that does not say what the boiler gives leaves the general figure."""
    bare = plant(output=None)

    assert healthy_here(bare, COLD, LOOP_DT, ComponentId("loop-1")) == LOOP_DT.healthy_text
    other = checks()[CheckId("sec_volts")]
    assert healthy_here(plant(), COLD, other, ComponentId("xf-1")) == other.healthy_text


def test_how_hard_a_closing_valve_can_hit_stands_beside_a_bang():
    """In 1-inch copper a wave runs some 4,000 ft/s; Joukowsky at 4 ft/s: about 210 psi (computed)."""
    listen = checks()[CheckId("noise_timing")]
    bang, hum = (faults()[FaultId(f)] for f in ("valve_backwards_bang", "pump_hum_transmitted"))

    assert "4 ft/s at once can add about 210 psi" in caution_here(listen, [hum, bang])
    assert "relief valve opens at 30" in caution_here(listen, [bang])
    assert caution_here(listen, [hum]) == listen.caution
    assert caution_here(LOOP_DT, [bang]) == LOOP_DT.caution


def cold(outdoor_f, *homes):
    """Those homes cold for three hours, everybody reachable."""
    made = plant()
    people = [Household(a.id) for a in made.apartments]
    weather = [HourlyWeather(NOW + timedelta(hours=h), outdoor_f) for h in range(-24, 25)]
    evidence = [
        Evidence(
            f"m_{h}", NOW - timedelta(hours=3), Reported(ApartmentId(h), frozenset({Kind.TOO_COLD}))
        )
        for h in homes
    ]
    return diagnose(made, evidence, people, weather, NOW)


def test_the_ticket_carries_them():
    """The list of checks of a cold loop shows the loop's own flow, its notes how long homes last."""
    diagnosis = cold(13.0, "1A", "1B")
    (group,) = diagnosis.groups

    steps = {s.check: s for s in order_checks(diagnosis, group)}
    if "loop_dt" in steps:
        assert "100,000 Btu/h" in steps["loop_dt"].healthy
    lasts = [n.says for n in notes(diagnosis, group) if n.about == "cooling"]
    assert len(lasts) == 1
    assert "55 F in about 12 hours at 13 F out" in lasts[0]


def test_one_home_of_its_own_says_nothing_of_a_floor():
    """A single home's fault is no floor without heat."""
    diagnosis = cold(40.0, "1A")

    assert diagnosis.groups[0].scope == "apartment"
    assert not [n for n in notes(diagnosis, diagnosis.groups[0]) if n.about == "cooling"]


def test_homes_last_longer_in_mild_weather_and_for_good_in_warm():
    """52 h of masonry: cooling law by hand, (68 - 0.07 x 50.8 - 19.2) e^(-t/52) = 55 - 19.2 at 13 F."""
    # (64.44 - 19.2) / (55 - 19.2) = 1.264; 52 x ln 1.264 = 12.2 h
    assert "55 F in about 12 hours at 13 F out" in coasting(COLD)
    assert "55 F" not in coasting(Climate(50.0, 13.0, 52.0))
    assert coasting(Climate(60.0, 13.0, 52.0)) == ""
