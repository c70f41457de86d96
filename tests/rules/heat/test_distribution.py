"""Flows on a direct return against the pressure equations, solved by a general-purpose library."""

from __future__ import annotations

from math import exp

import numpy as np
import pytest
from scipy.optimize import fsolve

from rules.heat.distribution import (
    branch_flows,
    branch_heat,
    starved_branches,
    weak_branches,
)


def solved(places: int, stretch: float, head: float = 5.0) -> list[float]:
    """Flows of equal branches of resistance 1 under a pump's head, nearest first, as shares of the mean.

    Kirchhoff: at each branch, head minus what the mains before it drop equals the branch's own drop;
    the main before branch k carries all flows from k on. The first branch sits at the pump.
    """

    def residual(flows):
        drops = []
        left = head
        for k in range(places):
            if k:
                behind = places - k
                left -= stretch * (flows[k:].sum() / behind) ** 2
            drops.append(left - flows[k] ** 2)
        return drops

    flows = np.abs(fsolve(residual, np.ones(places), xtol=1e-13))
    return list(flows / flows.mean())


@pytest.mark.parametrize("places", [1, 2, 5, 12])
@pytest.mark.parametrize("stretch", [0.05, 0.3, 1.0])
def test_branches_share_the_flow_as_the_pressures_say(places, stretch):
    """Whatever the pump's head, for all drops go with the square of the flow."""
    flows = branch_flows(places, stretch)

    assert flows == pytest.approx(solved(places, stretch), rel=1e-9)
    assert flows == pytest.approx(solved(places, stretch, head=0.7), rel=1e-9)
    assert list(flows) == sorted(flows, reverse=True)
    assert sum(flows) == pytest.approx(places)


@pytest.mark.parametrize("flow", [0.2, 0.5, 1.5])
def test_heat_of_a_branch_by_the_flow_it_carries(flow):
    """Q = 500 x gpm x dT with dT = lead x (1 - exp(-NTU / flow)) and 20 of 100 F at design flow."""
    cooled_f = 100 * (1 - exp(-0.22314355 / flow))

    assert branch_heat(flow) == pytest.approx(flow * cooled_f / 20, rel=1e-6)


@pytest.mark.parametrize("far", [0.3, 0.55, 0.8])
def test_an_unbalanced_loop_leaves_the_far_end_what_is_stated(far):
    """The near homes get their share and more, the far ones starve (common practice, no source)."""
    shares = starved_branches(6, far)

    assert shares[-1] == pytest.approx(far, rel=1e-6)
    assert list(shares) == sorted(shares, reverse=True)
    assert shares[0] > 1.0


@pytest.mark.parametrize("heat", [0.3, 0.7, 0.9])
def test_a_weak_pump_takes_most_from_the_far_end(heat):
    """All flows fall alike; what is left in all is what was stated."""
    shares = weak_branches(8, heat)
    full = [branch_heat(flow) for flow in branch_flows(8, 0.1)]

    assert sum(s * f for s, f in zip(shares, full, strict=True)) == pytest.approx(
        heat * sum(full), rel=1e-6
    )
    assert list(shares) == sorted(shares, reverse=True)
    assert shares[0] > heat > shares[-1]
