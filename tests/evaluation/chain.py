"""The control chain of a simulated building: thermostat, power, valve, switch, relay, pump, burner."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .house import House
from .state import State

__all__ = ["Chain", "close_chain"]

Floats = NDArray[np.float64]
# An overloaded transformer holds in so large a share of its valves; the last callers lose.
_HELD_IN = 0.5
_WARM_PIPE_F = 110.0


@dataclass(frozen=True)
class Chain:
    """What every link does at one instant, over cases and homes (or loops)."""

    volts: Floats
    call: Floats
    driven: Floats
    opening: Floats
    made: Floats
    pulled: Floats
    flow: Floats  # per loop, 0 to 1
    through: Floats  # water through each home's emitters, 0 to 1
    asks: Floats  # the boiler is asked for heat
    fires: Floats


def close_chain(
    house: House,
    state: State,
    call: Floats,
    *,
    air_f: Floats,
    outdoor_f: float,
    water_f: Floats,
    hour: float,
) -> Chain:
    """Follow a call from the thermostats to the burner.

    Args:
        call: 1 where the thermostat's contact is closed (before power is looked at).
    """
    volts = _volts(house, state)
    call = np.where(house.powered_stat & (volts < 0.5), 0.0, call)
    driven = call * volts * _held_in(house, state, call, hour)
    opening = _opening(house, state, driven, call, volts, air_f, hour)
    made = _made(house, state, driven, call, hour)
    pulled = _pulled(house, state, made, outdoor_f)
    runs = np.maximum(pulled, state.weld) * state.contact * state.flow
    ghost = state.ghost * (water_f > _WARM_PIPE_F)
    flow = np.where(runs > 0.05, runs, np.maximum(runs, ghost))
    far = np.where(house.is_far, state.far[:, house.loop], 1.0)
    top = np.where(house.is_top, state.top, 1.0)
    if house.kind == "series":
        through = _one_pipe(house, state.path * top) * flow[:, house.loop]
    else:
        through = opening * flow[:, house.loop] * far * top * state.path * state.rise
    asks, fires = _burner(state, pulled, outdoor_f, hour)
    return Chain(volts, call, driven, opening, made, pulled, flow, through, asks, fires)


def _one_pipe(house: House, passes: Floats) -> Floats:
    """What the narrowest place of a single pipe lets through to all homes on it."""
    least = np.ones_like(passes)
    for x in range(len(house.loop_names)):
        members = house.loop == x
        least[:, members] = passes[:, members].min(axis=1, keepdims=True)
    return least


def _volts(house: House, state: State) -> Floats:
    fed: Floats = state.volts[:, np.maximum(house.transformer, 0)]
    return np.where(house.transformer >= 0, fed, 1.0)


def _held_in(house: House, state: State, call: Floats, hour: float) -> Floats:
    """1 where the transformer still lifts the valve; who calls first changes by the hour."""
    held = np.ones_like(call)
    if not state.overload.any():
        return held
    for t in range(len(house.transformer_names)):
        members = np.roll(np.flatnonzero(house.transformer == t), int(hour // 2))
        before = np.cumsum(call[:, members], axis=1)
        enough = before <= max(1.0, _HELD_IN * len(members))
        held[:, members] = np.where(state.overload[:, [t]] > 0, enough, 1.0)
    return held


def _opening(
    house: House,
    state: State,
    driven: Floats,
    call: Floats,
    volts: Floats,
    air_f: Floats,
    hour: float,
) -> Floats:
    if house.kind in ("zone_circulator", "series"):
        return np.ones_like(driven)
    if house.kind == "trv":
        wanted = np.clip((house.set_f - air_f) / 2 + 0.5, 0.0, 1.0)
        return np.maximum(wanted, state.leak)
    if house.kind == "normally_open":
        opening = np.where((volts > 0.5) & (call < 0.5), 0.0, 1.0)
    else:
        opening = driven * state.motor
    opening = np.maximum(opening, state.leak)
    # A weak spring catches now and then, for an hour or two.
    caught = (np.sin(np.floor(hour / 2) * 12.9898) * 43758.5453) % 1.0
    opening = np.where(state.sticky > caught, 1.0, opening)
    opening = np.where(state.stuck > 0, 1.0, opening)
    return np.where(state.stuck < 0, 0.0, opening)


def _made(house: House, state: State, driven: Floats, call: Floats, hour: float) -> Floats:
    if house.kind in ("two_wire", "normally_open", "zone_circulator", "trv", "series"):
        return call
    full = driven * (state.motor > 0.9) * (state.stuck >= 0)
    flickers = float((hour * 4) % 2 < 1)
    made = np.where(state.switch == 2, full * flickers, full)
    made = np.where(state.switch == -1, 0.0, made)
    return np.where(state.switch == 1, 1.0, made)


def _pulled(house: House, state: State, made: Floats, outdoor_f: float) -> Floats:
    if house.kind in ("trv", "series"):
        return np.full_like(state.coil, float(outdoor_f < 64))
    any_made = (made @ house.in_loop) > 0.5
    fed = state.volts[:, np.maximum(house.relay_transformer, 0)]
    fed = np.where(house.relay_transformer >= 0, fed, 1.0)
    return any_made * fed * state.coil


def _burner(state: State, pulled: Floats, outdoor_f: float, hour: float) -> tuple[Floats, Floats]:
    asks = (pulled * state.iso).max(axis=1, keepdims=True)
    asks = np.where(state.demand == 1, 1.0, np.where(state.demand == -1, 0.0, asks))
    off = (state.off_from <= hour) & (hour < state.off_to)
    able = state.fire.max(axis=1, keepdims=True) * ~off * (outdoor_f < state.calm_above)
    return asks, asks * able
