"""Figures of this plant beside a check: what a healthy reading means here, how hard a valve can hit.

Theory of operation
-------------------
A loop's share of its heat source goes by its homes. Loops are sized for 20 F between supply and return
at full output, so the difference measured gives the flow, and with outdoor reset, where the water is
only as hot as the weather needs, the difference to expect falls with the load.
"""

from __future__ import annotations

from collections.abc import Iterable

from rules.faults.rows import Check, Fault
from rules.heat.cooling import after_fast_drop, equilibrium_f, hours_until
from rules.heat.hydraulics import (
    DESIGN_DELTA_F,
    NOISY_FT_S,
    RELIEF_PSI,
    delta_f,
    flow_gpm,
    surge_psi,
    wave_speed_ft_s,
)
from rules.heat.rooms import DESIGN_DUTY, FREE_HEAT_F, Climate, fast_drop_f, healthy_duty
from rules.model import ComponentId, Noise
from rules.plant import Plant

__all__ = ["caution_here", "coasting", "healthy_here", "loop_btuh"]

# One-inch copper tube: bore and wall in inches (value from memory of the tube standard).
_TUBE_IN = (1.055, 0.035)
_RUN_FT, _SLOW_S = 100.0, 5.0
_STOPS_FLOW = ("valve", "circulator", "loop")
# A home as it should be, and two temperatures that people ask about: the lowest that common law lets a
# night be, and the lowest at which pipes of an empty home are thought safe.
_START_F, _LIMITS_F = 68.0, (62.0, 55.0)


def healthy_here(plant: Plant, climate: Climate, check: Check, component: ComponentId) -> str:
    """The healthy reading in words, with what it means in this plant as far as its file says."""
    if check.id != "loop_dt" or component not in {loop.id for loop in plant.loops}:
        return check.healthy_text
    btuh = loop_btuh(plant, component)
    if btuh is None:
        return check.healthy_text
    head, source = plant.head_of(component), plant.source(plant.loop(component).source)
    full = flow_gpm(btuh, DESIGN_DELTA_F)
    says = (
        f"{check.healthy_text}. At this loop's share of {head}, about {btuh:,.0f} Btu/h, "
        f"{DESIGN_DELTA_F:.0f} F is {_gpm(full)}, 10 F {_gpm(flow_gpm(btuh, 10))} and "
        f"40 F {_gpm(flow_gpm(btuh, 40))}"
    )
    if source.control != "outdoor_reset":
        return says
    load = min(healthy_duty(climate) / DESIGN_DUTY, 1.0)
    expected = delta_f(btuh * load, full)
    return (
        f"{says}; with outdoor reset expect about {expected:.0f} F at {climate.outdoor_f:.0f} F out"
    )


def caution_here(check: Check, suspects: Iterable[Fault]) -> str:
    """What to look out for; beside a bang of a closing valve also how hard it can hit."""
    bangs = any(Noise.BANG in f.reports.noise and f.at in _STOPS_FLOW for f in suspects)
    if check.id != "noise_timing" or not bangs:
        return check.caution
    wave = wave_speed_ft_s(*_TUBE_IN)
    sudden = surge_psi(NOISY_FT_S, wave)
    slow = surge_psi(NOISY_FT_S, wave, length_ft=_RUN_FT, closing_s=_SLOW_S)
    hits = (
        f"A valve that stops {NOISY_FT_S:.0f} ft/s at once can add about {sudden:.0f} psi for an "
        f"instant, where the relief valve opens at {RELIEF_PSI:.0f}; closing over {_SLOW_S:.0f} s it "
        f"adds about {slow:.0f}"
    )
    return f"{check.caution}. {hits}" if check.caution else hits


def coasting(climate: Climate) -> str:
    """How long homes without any heat last in this weather; empty where they do not get cold."""
    settles_f = equilibrium_f(climate.outdoor_f, 1.0, gain_btuh=FREE_HEAT_F)
    start_f = after_fast_drop(_START_F, fast_drop_f(climate), settles_f)
    hours = [hours_until(f, start_f, settles_f, climate.time_constant_hours) for f in _LIMITS_F]
    reached = [
        f"{limit:.0f} F {_in_hours(after)}"
        for limit, after in zip(_LIMITS_F, hours, strict=True)
        if after is not None
    ]
    if not reached:
        return ""
    return (
        f"A floor of homes without any heat falls from {_START_F:.0f} F to {' and '.join(reached)} "
        f"at {climate.outdoor_f:.0f} F out; one home between warm ones falls more slowly"
    )


def loop_btuh(plant: Plant, loop: ComponentId) -> float | None:
    """A loop's share of its source's output, by homes; None where the file gives no output."""
    source = plant.source(plant.loop(loop).source)
    cascade, head = plant.cascade_of(source.id), plant.head_of(loop)
    output = source.output_btuh if cascade is None else cascade.output_btuh
    if output is None:
        return None
    here = sum(a.loop == loop for a in plant.apartments)
    every = sum(plant.head_of(a.loop) == head for a in plant.apartments)
    return output * here / every if here else None


def _gpm(flow: float) -> str:
    return f"{flow:.0f} gpm" if flow >= 10 else f"{flow:.1f} gpm"


def _in_hours(hours: float) -> str:
    # Air and furniture take an hour or two over their fast drop, which is left out before.
    return "within an hour or two" if hours < 1.5 else f"in about {hours:.0f} hours"
