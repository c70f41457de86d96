"""A few days in many copies of one building, each with something else broken in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from .breakdowns import Case
from .chain import Chain, close_chain
from .house import ONE_PIPE_LOSS, House
from .state import State, state_of
from .weather import STEPS_PER_HOUR, Days

__all__ = ["World", "simulate"]

Floats = NDArray[np.float64]
_DT = 1 / STEPS_PER_HOUR
_AIR_BTU_F, _AIR_TO_MASS_BTUH_F = 1500.0, 2200.0  # gives the fast drop the trade quotes
_RATED_F, _EXPONENT = 105.0, 1.4


@dataclass
class _Now:
    """What a step needs of the step before."""

    air: Floats
    mass: Floats
    emitter: Floats
    water: Floats
    latched: Floats
    metal: Floats
    pipe: Floats


@dataclass(frozen=True, eq=False)
class World:
    """The days as they went in every copy; arrays are (steps, copies, homes)."""

    house: House
    days: Days
    copies: tuple[tuple[Case, ...], ...]
    air: Floats
    mass: Floats
    emitter: Floats
    metal: Floats  # surface of the emitter, F
    pipe: Floats  # the pipe that feeds it, F
    latched: Floats
    water: Floats  # (steps, copies, 1)
    fires: Floats  # (steps, copies, 1)

    @cached_property
    def _last_change(self) -> int:
        return max((c.step for copy in self.copies for c in copy), default=0)

    @cached_property
    def _final(self) -> State:
        return state_of(self.house, self.copies, self.days.steps)

    def state(self, step: int) -> State:
        """What is broken at a step."""
        if step >= self._last_change:
            return self._final
        return state_of(self.house, self.copies, step)

    def wish_f(self, step: int) -> Floats:
        """The temperature people want, which is not always what they set."""
        return self.house.set_f + self.state(step).wish

    def turned(self, step: int, home: int, set_f: float, minutes: float) -> tuple[Floats, Floats]:
        """Emitter and pipe of one home after turning its thermostat and waiting, per copy."""
        state = self.state(step)
        now = self._now(step)
        wanted = np.broadcast_to(self.house.set_f, now.air.shape).copy()
        wanted[:, home] = set_f
        for k in range(max(1, round(minutes / 60 * STEPS_PER_HOUR))):
            at = min(step + k, self.days.steps - 1)
            now, _ = _advance(self.house, state, self.days, at, now, wanted)
        return now.metal[:, home], now.pipe[:, home]

    def tested(self, step: int, homes: Sequence[int], *, calling: bool) -> Chain:
        """The chain while a technician makes some homes call, or not call, at a step."""
        state, now = self.state(step), self._now(step)
        call = _calls(state, self.days, step, now, self.house.set_f)[0].copy()
        for home in homes:
            call[:, home] = np.where(state.stat[:, home] == 0, float(calling), call[:, home])
        return _chain(self.house, state, self.days, step, now, call)

    def tap(self, step: int) -> Floats:
        """Hot water at the taps: 0 right, 1 cold, 2 lukewarm, 3 too hot, per copy."""
        source = self.house.plant.heat_sources[0]
        told = self.state(step).tap[:, 0]
        if source.hot_water not in ("indirect", "indirect_priority"):
            return told
        dead = self.state(step).fire.max(axis=1) < 0.5
        since = np.array([min((c.step for c in copy), default=0) for copy in self.copies])
        gone = dead & (step - since > 3 * STEPS_PER_HOUR)
        return np.where((told == 0) & gone, 1.0, told)

    def _now(self, step: int) -> _Now:
        return _Now(
            *(a[step].astype(float) for a in (self.air, self.mass, self.emitter, self.water)),
            self.latched[step].astype(float),
            self.metal[step].astype(float),
            self.pipe[step].astype(float),
        )


def simulate(house: House, days: Days, copies: Sequence[Sequence[Case]]) -> World:
    """Let the days pass in every copy of the building."""
    now = _start(house, days, len(copies))
    shape = (days.steps, len(copies), len(house.names))
    kept = {
        name: np.empty(shape, np.float32)
        for name in ("air", "mass", "emitter", "metal", "pipe", "latched")
    }
    water = np.empty((days.steps, len(copies), 1), np.float32)
    fires = np.empty_like(water)
    changes = {c.step for copy in copies for c in copy} | {0}
    state = state_of(house, copies, 0)
    for step in range(days.steps):
        if step in changes:
            state = state_of(house, copies, step)
        now, chain = _advance(house, state, days, step, now, house.set_f)
        for name, array in kept.items():
            array[step] = getattr(now, name)
        water[step], fires[step] = now.water, chain.fires
    return World(house, days, tuple(tuple(c) for c in copies), **kept, water=water, fires=fires)


def _start(house: House, days: Days, copies: int) -> _Now:
    air = np.tile(house.set_f, (copies, 1))
    cold = 0.5 * house.loss / (_AIR_TO_MASS_BTUH_F + 0.5 * house.loss)
    mass = air - cold * (air - float(days.outdoor_f[:24].mean()))
    zero = np.zeros_like(air)
    return _Now(air, mass, zero, np.full((copies, 1), 130.0), zero, air.copy(), air.copy())


def _calls(state: State, days: Days, step: int, now: _Now, set_f: Floats) -> tuple[Floats, Floats]:
    """The contact of each thermostat, and what it remembers."""
    hour = days.hour(step)
    # A wrong programme lowers by night and in working hours.
    lowered = (hour < 7) | (9 <= hour < 17)
    wanted = np.minimum(set_f + state.set_by * lowered, state.top_set)
    shown = now.air + state.shown
    latched = np.where(shown < wanted - 0.5, 1.0, np.where(shown > wanted + 0.5, 0.0, now.latched))
    call = np.where(state.stat > 0, 1.0, np.where(state.stat < 0, 0.0, latched))
    return call, latched


def _chain(house: House, state: State, days: Days, step: int, now: _Now, call: Floats) -> Chain:
    return close_chain(
        house,
        state,
        call,
        air_f=now.air,
        outdoor_f=float(days.outdoor_f[step]),
        water_f=now.water,
        hour=days.hour(step),
    )


def _advance(
    house: House, state: State, days: Days, step: int, now: _Now, set_f: Floats
) -> tuple[_Now, Chain]:
    outdoor = float(days.outdoor_f[step])
    call, latched = _calls(state, days, step, now, set_f)
    chain = _chain(house, state, days, step, now, call)
    water = _water(house, state, chain, now, outdoor)
    in_series = house.kind == "series"
    # A third of the flow still gives more than half of the heat; on one pipe what lacks shows along it.
    bend = 0.02 if in_series else 0.4
    wanted = chain.through / (chain.through + bend) * (1 + bend) * state.emit
    emitter = now.emitter + (wanted - now.emitter) * (1 - np.exp(-_DT / house.emitter_hours))
    over = np.maximum(water - 10 - now.air, 0.0)
    if in_series:
        left = np.exp(-ONE_PIPE_LOSS * house.along / np.maximum(chain.through, 0.02))
        over = np.maximum(water - now.air, 0.0) * left
    heat = house.full_heat * emitter * (over / _RATED_F) ** _EXPONENT
    # Boilers side by side add up.
    able = house.output_btuh * (state.fire * state.capacity).mean(axis=1, keepdims=True)
    able = np.where(chain.fires > 0.5, able, house.output_btuh)
    short = np.minimum(1.0, able / np.maximum(heat.sum(axis=1, keepdims=True), 1.0))
    heat = heat * short
    air, mass = _rooms(house, state, days, step, now, heat)
    surface = np.where(state.emit > 0, emitter / np.maximum(state.emit, 0.05), emitter)
    metal = now.air + np.minimum(surface, 1.0) * over * short
    wet = chain.through / (chain.through + 0.05) * 1.05
    pipe = now.pipe + (now.air + wet * over * short - now.pipe) * 0.8
    return _Now(air, mass, emitter, water, latched, metal, pipe), chain


def _water(house: House, state: State, chain: Chain, now: _Now, outdoor: float) -> Floats:
    wanted = np.interp(outdoor, [house.design_f, 60.0], [180.0, 105.0]) if house.resets else 178.0
    if house.kind == "series":  # nothing else holds the rooms: the curve is as it should be
        given = house.full_heat * np.exp(-_EXPONENT * ONE_PIPE_LOSS * house.along)
        need = np.maximum(house.loss * (70.5 - outdoor) - house.gain.mean(), 0.0) / given
        wanted = 70.5 + _RATED_F * float(need.mean()) ** (1 / _EXPONENT)
    wanted = np.maximum(wanted + state.water, 75.0)
    moving = chain.flow.max(axis=1, keepdims=True) > 0.05
    falls = np.where(moving, 1 - np.exp(-_DT / 1.5), 1 - np.exp(-_DT / 9.0))
    heated = now.water + (wanted - now.water) * (1 - np.exp(-_DT / 0.3))
    return np.where(chain.fires > 0.5, heated, now.water + (72.0 - now.water) * falls)


def _rooms(
    house: House, state: State, days: Days, step: int, now: _Now, heat: Floats
) -> tuple[Floats, Floats]:
    outdoor, hour = float(days.outdoor_f[step]), days.hour(step)
    evening = float(17 <= hour < 23)
    when = np.choose(state.gain_when.astype(int), [1.0, float(days.sun[step]), evening])
    extra = state.gain * when * house.loss * 57.0
    # Whoever is far too warm opens a window a little.
    opened = 0.5 * np.clip((now.air - house.set_f - 2.5) / 3.0, 0.0, 1.0)
    to_air = house.loss * (0.5 + state.loss - 1 + opened) * (now.air - outdoor)
    to_mass = _AIR_TO_MASS_BTUH_F * (now.air - now.mass)
    to_beside = now.air * house.beside.sum(axis=1) - now.air @ house.beside
    air = now.air + _DT / _AIR_BTU_F * (heat + house.gain + extra - to_air - to_mass - to_beside)
    out = 0.5 * house.loss * (now.mass - outdoor)
    mass = now.mass + _DT / (house.heat_capacity - _AIR_BTU_F) * (to_mass - out)
    return air, mass
