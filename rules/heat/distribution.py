"""What each home of a loop gets of its heat when little water flows, by its place along the pipe.

Theory of operation
-------------------
Water that passes an emitter cools: with N = UA / (500 gpm) its lead over the room falls as exp(-N x)
along the share x of the way (heat balance of a heat exchanger in a room of constant temperature).
Loops are sized for 20 F out of 100 F above the room, so N = -ln(1 - 20/100) at full flow, and it grows
as the flow falls.

*In series* all homes share one N: the first take most of the heat of a small flow.

*On a direct return*, first on is first back: the branches lie in parallel, each farther one behind one
more stretch of main out and back, so that

    drop across branch k = drop across branch k + 1 + drop of the stretch between them,

drops going with the square of the flow. Mains are sized for the same friction everywhere, so a stretch
that feeds j branches drops ``stretch`` at j design flows. From the far end inward every flow follows
from the ones behind it, without trial. The unit is the drop across a branch at its design flow.
"""

from __future__ import annotations

from collections.abc import Callable
from math import exp, log, sqrt

from rules.heat.control import DESIGN_WATER_ABOVE_ROOM_F
from rules.heat.hydraulics import DESIGN_DELTA_F

__all__ = [
    "STRETCH",
    "branch_flows",
    "branch_heat",
    "series_flow",
    "series_heat",
    "starved_branches",
    "weak_branches",
]

_DESIGN_NTU = -log(1 - DESIGN_DELTA_F / DESIGN_WATER_ABOVE_ROOM_F)
STRETCH = 0.1  # of a branch's drop, in the main between two branches (common practice, no source)
_MOST_STRETCH = 1e4


def series_heat(flow: float, place: int, places: int) -> float:
    """Heat of one of several equal emitters in series at a share of the full flow, against that at full.

    Args:
        flow: share of the full flow, above 0.
        place: 0 for the first that the water reaches.
        places: how many there are.
    """
    return _given_off(flow, place, places) / _given_off(1.0, place, places)


def series_flow(heat: float) -> float:
    """The share of the full flow at which emitters in series give this share of their heat together.

    Raises:
        ValueError: the share of heat does not lie between 0 and 1.
    """
    _a_share(heat)
    return _where(lambda flow: branch_heat(flow) >= heat, 0.0, 1.0)


def branch_heat(flow: float) -> float:
    """Heat of one emitter on a branch of its own at a share of its design flow, against that at it."""
    return _given_off(flow, 0, 1) / _given_off(1.0, 0, 1)


def branch_flows(places: int, stretch: float) -> tuple[float, ...]:
    """Flows of equal branches on a direct return without balancing, nearest first; their mean is 1.

    Args:
        places: how many branches.
        stretch: drop of the main between two branches at design, against that of a branch.
    """
    drop, flows = 1.0, [1.0]
    for behind in range(1, places):
        drop += stretch * (sum(flows) / behind) ** 2
        flows.append(sqrt(drop))
    mean = sum(flows) / places
    return tuple(flow / mean for flow in reversed(flows))


def starved_branches(places: int, far_heat: float) -> tuple[float, ...]:
    """Heat of each branch where nothing balances them and the farthest gets this share, nearest first.

    Against a balanced loop with the same water in all; the near ones get more than their share.

    Raises:
        ValueError: the share of heat does not lie between 0 and 1.
    """
    _a_share(far_heat)
    if places == 1:
        return (far_heat,)
    stretch = _where(
        lambda s: branch_heat(branch_flows(places, s)[-1]) <= far_heat, 0.0, _MOST_STRETCH
    )
    return tuple(branch_heat(flow) for flow in branch_flows(places, stretch))


def weak_branches(places: int, heat: float) -> tuple[float, ...]:
    """Heat of each branch when all flows fall alike and this share of the heat is left, nearest first.

    Against the same loop at full flow, mains sized as usual: the far branches have least to lose.

    Raises:
        ValueError: the share of heat does not lie between 0 and 1.
    """
    _a_share(heat)
    full = branch_flows(places, STRETCH)
    whole = sum(map(branch_heat, full))
    share = _where(lambda s: sum(branch_heat(s * f) for f in full) >= heat * whole, 0.0, 1.0)
    return tuple(branch_heat(share * flow) / branch_heat(flow) for flow in full)


def _given_off(flow: float, place: int, places: int) -> float:
    """Heat of one emitter in series, up to a factor."""
    each = _DESIGN_NTU / places / flow
    return flow * exp(-each * place) * (1 - exp(-each))


def _a_share(heat: float) -> None:
    if not 0 < heat < 1:
        raise ValueError(
            "a share of heat between none and all of it is carried by a share of the flow"
        )


def _where(is_enough: Callable[[float], bool], low: float, high: float) -> float:
    """The least value that is enough, all above it being so too; by halving."""
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (low, middle) if is_enough(middle) else (middle, high)
    return high
