"""What a fault of one home's own pump does to that home, and what it owes to its neighbours' calls.

That a zone which warms without a call has a check that does not hold is a published trade answer; the
other signs are common practice, no source.
"""

from __future__ import annotations

import pytest

from rules.heat.columns import row
from rules.heat.control import ChainKind, Chains

OWN_PUMP = ChainKind("zone_circulator", None)
QUIET, BUSY = 0.0, 1.0


def heat(others: float, other_loops: float = QUIET, **changed: float) -> tuple[float, float]:
    """Share of full heat while calling and while not, ``others`` on the header calling so often."""
    given = Chains(row(changed)[None, :], OWN_PUMP).among(others, other_loops)
    return float(given.calling[0]), float(given.idle[0])


@pytest.mark.parametrize("others", [QUIET, BUSY])
def test_a_sound_zone_has_heat_when_it_calls_and_at_no_other_time(others: float) -> None:
    """Whatever its neighbours do: their pumps move their water."""
    assert heat(others) == (1.0, 0.0)


@pytest.mark.parametrize(
    "broken",
    [
        {"flow": 0.0},
        {"relay_dead": 1.0},
        {"pump_contact_open": 1.0},
        {"no_power": 1.0, "relay_dead": 1.0},
    ],
)
def test_a_dead_pump_is_not_helped_by_its_neighbours(broken: dict[str, float]) -> None:
    """Unlike a failed end switch, nobody else runs this pump: no heat in any weather."""
    assert heat(BUSY, BUSY, **broken) == (0.0, 0.0)


def test_a_welded_relay_heats_without_a_call_and_fires_the_boiler_itself() -> None:
    """Full heat at all times, although nobody else calls."""
    assert heat(QUIET, relay_welded=1.0) == (1.0, 1.0)


def test_an_overloaded_panel_drops_relays_while_many_call() -> None:
    """Coils fall out when more pull than it holds, as valves do."""
    chains = Chains(row({"power_short": 1.0})[None, :], OWN_PUMP)

    assert float(chains.among(BUSY, QUIET, crowded=0.0).calling[0]) == 1.0
    assert float(chains.among(BUSY, QUIET, crowded=1.0).calling[0]) < 0.5


def test_a_check_that_stands_open_warms_a_home_as_its_neighbours_call() -> None:
    """Hot water comes round only while somebody's call fires the boiler: on this header or another."""
    _, alone = heat(QUIET, check_leak=0.5)
    _, beside = heat(BUSY, check_leak=0.5)
    _, elsewhere = heat(QUIET, BUSY, check_leak=0.5)

    assert alone < 0.1 < beside
    assert beside == pytest.approx(elsewhere)


def test_a_dead_contact_of_the_panel_leaves_the_boiler_to_other_loops() -> None:
    """All zones of a panel ask the boiler through one contact; another loop's call helps."""
    with_neighbours, _ = heat(BUSY, isolated_contact_open=1.0)
    with_another_loop, _ = heat(QUIET, BUSY, isolated_contact_open=1.0)

    assert with_neighbours < 0.2
    assert with_another_loop == 1.0
