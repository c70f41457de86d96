"""Heat in flowing water and the blow of a closing valve, against published worked examples."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.heat.hydraulics import (
    COPPER_PSI,
    delta_f,
    flow_gpm,
    heat_btuh,
    surge_psi,
    wave_speed_ft_s,
)

FT_PER_M = 1 / 0.3048
IN_PER_MM = 1 / 25.4


@pytest.mark.parametrize(
    ("gpm", "difference_f", "btuh"),
    [
        (8, 20, 80_000),  # ACHR News, article 125638: both lines
        (16, 10, 80_000),
        (1, 20, 10_000),  # a trade sizing page: 1 gpm carries 10,000 Btu/h
        (25, 20, 250_000),  # from it: a 250,000 Btu/h boiler needs 25 gpm
        (3, 20, 30_000),
    ],
)
def test_500_times_gallons_times_degrees(gpm: float, difference_f: float, btuh: float) -> None:
    """Heat, flow and difference follow from each other as the trade reckons them."""
    assert heat_btuh(gpm, difference_f) == pytest.approx(btuh)
    assert flow_gpm(btuh, difference_f) == pytest.approx(gpm)
    assert delta_f(btuh, gpm) == pytest.approx(difference_f)


def test_standing_water_carries_nothing() -> None:
    """Neither a flow of nothing nor a difference of nothing can carry heat."""
    with pytest.raises(ValueError, match="stands"):
        delta_f(10_000, 0)
    with pytest.raises(ValueError, match="difference"):
        flow_gpm(10_000, 0)


@pytest.mark.parametrize(
    ("wave_m_s", "flow_m_s", "psi"),
    [
        (1200, 2, 348.1),  # a public calculator's example: 1000 x 1200 x 2 = 2.4 MPa = 348 psi
        (1480, 1, 214.7),  # 14.8 bar, computed from density x wave x flow
        (1400, 0.6, 121.8),  # 8.4 bar, likewise
    ],
)
def test_joukowsky(wave_m_s: float, flow_m_s: float, psi: float) -> None:
    """Pressure rises by density times the speed of the wave times the speed of the flow."""
    found = surge_psi(flow_m_s * FT_PER_M, wave_m_s * FT_PER_M)

    assert found == pytest.approx(psi, abs=0.1)


def test_joukowsky_in_the_units_of_the_trade() -> None:
    """A pump zone's page gives P = aV / (2.31 g), about 328 psi at 5 ft/s in rigid pipe."""
    assert surge_psi(5, wave_speed_ft_s()) == pytest.approx(328, abs=2)


def test_a_wave_in_copper_is_slower_than_in_rigid_pipe() -> None:
    """25.4 mm bore, 1.2 mm wall, 2.2 GPa water, 120 GPa copper: 1,258.9 m/s (computed)."""
    found = wave_speed_ft_s(25.4 * IN_PER_MM, 1.2 * IN_PER_MM, COPPER_PSI)

    assert found / FT_PER_M == pytest.approx(1258.9, abs=0.3)
    assert wave_speed_ft_s() / FT_PER_M == pytest.approx(1483, abs=1)


def test_a_slow_valve_does_not_bang() -> None:
    """Closed over 5 s, 100 ft of water at 4 ft/s push with 2 rho L V / t: about 2 psi (Michaud)."""
    at_once = surge_psi(4, 4130)
    slow = surge_psi(4, 4130, length_ft=100, closing_s=5)

    assert slow == pytest.approx(2 * 1.94032 * 100 * 4 / 5 / 144, abs=0.01)
    assert at_once > 100 * slow


@given(st.floats(0, 10), st.floats(500, 5000), st.floats(1, 500), st.floats(0, 60))
def test_no_closing_is_worse_than_at_once(
    flow: float, wave: float, length: float, closing: float
) -> None:
    """However fast it shuts, the blow is at most Joukowsky's, and a slower closing is no worse."""
    sudden = surge_psi(flow, wave)
    found = surge_psi(flow, wave, length_ft=length, closing_s=closing)
    slower = surge_psi(flow, wave, length_ft=length, closing_s=closing + 1)

    assert slower <= found <= sudden
