"""A coarse world of rooms, valves and water: five-minute steps, an air node upon a mass in each home.

It shares no code and no numbers with the rules. Temperatures are in F, heat in Btu/h, mass in Btu/F;
the figures are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from .breaks import Break
from .plants import Plant

__all__ = ["STEP", "Weather", "World", "local_hour"]

STEP = timedelta(minutes=5)
_STEP_H = STEP / timedelta(hours=1)
_LOCAL = timedelta(hours=-5)
_TAU_H = {"masonry": 55.0, "light_frame": 28.0, "insulated_masonry": 110.0}
_METAL_H = {"fin_tube": 0.09, "steel_panel": 0.3, "cast_iron": 1.3, "radiant_floor": 4.0}
_AIR_H = 0.6
_TIGHT = 12.0  # air to mass, against what is lost to the outside
_DESIGN_F, _BALANCE_F, _ROOM_F = 10.0, 65.0, 72.0
_FIXED_WATER_F = 172.0
_STORE = 130.0  # water of the plant, Btu/F a home

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Weather = Callable[[datetime], float]


def local_hour(at: datetime) -> float:
    """The hour of the day where the building stands (winter time)."""
    there = at + _LOCAL
    return there.hour + there.minute / 60


class World:
    """Everything true about one building; ``step`` moves it five minutes."""

    def __init__(self, rng: Generator, plant: Plant, weather: Weather, *, sunny: bool) -> None:
        """All rooms near their set points, nothing broken yet."""
        n = len(plant.homes)
        self.plant, self.weather, self.sunny = plant, weather, sunny
        self.breaks: list[Break] = []
        self.loop = np.array(plant.loop)
        top = np.array(plant.floor) == max(plant.floor)
        self.loss = 210.0 * rng.uniform(0.8, 1.2, n) * np.where(top, 1.15, 1.0)
        self.between = 0.25 * self.loss
        self.neighbors = _neighbors(plant)
        self.near = np.zeros((n, n))
        for i, ids in self.neighbors.items():
            self.near[i, ids or [i]] = 1 / max(1, len(ids))
        self.mass = _TAU_H[plant.file["construction"]] * rng.uniform(0.75, 1.3) * self.loss
        self.gain = rng.uniform(800, 2200, n)
        spare = (0.97, 1.05) if plant.zoning == "none" else (1.15, 1.6)
        self.size = (self.loss * (_ROOM_F - _DESIGN_F) - self.gain) * rng.uniform(*spare, n)
        self.capacity = self.size.sum() * rng.uniform(0.95, 1.25)
        self.set = np.round(rng.normal(71, 1.6, n))
        self.air = self.set - 0.5
        self.core = self.air.copy()
        self.metal = np.full(n, 90.0)
        self.water = 150.0
        self.calling: Flags = np.zeros(n, bool)
        self.held_open: Flags = np.zeros(n, bool)
        self.turned: dict[int, tuple[float, datetime]] = {}
        self.flow = np.zeros(n)

    def of(self, name: str, home: int) -> float:
        """An effect at one home, summed over what is broken."""
        return float(self.each(name)[home])

    def each(self, name: str) -> Floats:
        """The same for every home; 0 where nothing is broken so."""
        sums = np.zeros(len(self.air))
        for b in self.breaks:
            if name in b.does:
                sums[b.homes] += float(b.does[name])
        return sums

    def factor(self, name: str) -> Floats:
        """A factor of every home, multiplied over what is broken; 1 where nothing is."""
        product = np.ones(len(self.air))
        for b in self.breaks:
            if name in b.does:
                product[b.homes] *= float(b.does[name])
        return product

    def target(self, outdoor: float) -> float:
        """Water temperature that the plant aims at."""
        shift = sum(float(b.does.get("water", 0.0)) for b in self.breaks)
        if not self.plant.follows_weather and self.plant.style != "steam":
            return _FIXED_WATER_F + shift
        need = min(max((_BALANCE_F - outdoor) / (_BALANCE_F - _DESIGN_F), 0.0), 1.1)
        slack = 1.0 if self.plant.zoning == "none" else 1.2
        return float(_ROOM_F + 100 * (need * slack) ** 0.77 + shift)

    def step(self, at: datetime) -> None:
        """Move to five minutes after ``at``."""
        outdoor, hour = self.weather(at), local_hour(at)
        self._call(at, hour)
        self.flow, wanted = self._plumb()
        emits = self.flow * self.size * self.factor("emit")
        fire = self._fire(hour) if wanted else 0.0
        self._heat_water(outdoor, fire, float((emits * self._driving()).sum()))
        self._rooms(outdoor, hour, emits * self._driving())
        share = np.minimum(1, 0.35 + 0.6 * self.flow)
        aim = self.air + np.where(self.flow > 0.08, (self.water - self.air) * share, 0.0)
        pace = np.where(aim > self.metal, 2.0, 1.0) / _METAL_H[self.plant.emitter]
        self.metal += (aim - self.metal) * (1 - np.exp(-_STEP_H * pace))

    def power(self, transformer: int) -> bool:
        """Whether a transformer delivers; -1 stands for one that nobody drew."""
        dead = (b.index for b in self.breaks if b.place == "transformer")
        return transformer not in dead

    def shown(self) -> Floats:
        """What thermostats show."""
        return self.air + self.each("reads")

    def _aims(self, at: datetime, hour: float) -> Floats:
        """What thermostats aim at, with setbacks nobody remembers and what people were asked."""
        aim = self.set.copy()
        if not 16 < hour < 22:
            aim -= self.each("setback")
        for home, (degrees, until) in self.turned.items():
            if at < until:
                aim[home] = degrees
        return aim

    def _call(self, at: datetime, hour: float) -> None:
        below = self._aims(at, hour) - self.shown()
        self.calling = np.where(below > 0.7, True, np.where(below < -0.5, False, self.calling))
        for b in self.breaks:
            if "call" in b.does:
                self.calling[b.index] = b.does["call"] == "on"

    def _plumb(self) -> tuple[Floats, bool]:
        """Share of full flow through each home's emitters; whether the source is asked for heat."""
        plant = self.plant
        through = self.factor("flow") * self.factor("top") * self.factor("far")
        pump, asks = self._pumps()
        running = pump[self.loop]
        if plant.zoning == "none":
            return through * running, True
        if plant.zoning == "trv":
            return through * running * np.clip((self.set - self.air) / 2 + 0.6, 0, 1), True
        live = np.array([self.power(t) for t in plant.transformer])
        relay = np.array([self.power(t) for t in plant.relay_transformer])
        valve = self._valves(live)
        made = self._made(valve, live)
        if plant.zoning == "zone_circulator":
            valve = valve & relay[self.loop]
            on = np.array([bool(valve[self.loop == n].any()) for n in range(len(plant.loops))])
        else:
            on = relay & [bool(made[self.loop == n].any()) for n in range(len(plant.loops))]
            running = running * on[self.loop]
        opened = np.maximum(valve, self.each("leak"))
        ghost = self.each("ghost") * (running < 0.05) * np.maximum(valve, 0.4)
        return through * np.maximum(opened * running, ghost), bool((on & asks).any())

    def _pumps(self) -> tuple[Floats, Flags]:
        """How well each loop's pump moves water when it runs; whether its call gets through."""
        pump, asks = np.ones(len(self.plant.loops)), np.ones(len(self.plant.loops), bool)
        for b in self.breaks:
            pump *= float(b.does.get("all_pumps", 1.0))
            if "pump" in b.does:
                pump[b.index] *= float(b.does["pump"])
            if "demand" in b.does:
                asks[b.index] = False
        return pump, asks

    def _valves(self, live: Flags) -> Flags:
        kind = self.plant.valve_kind if self.plant.zoning == "zone_valve" else ""
        valve = self.calling & live
        if kind == "normally_open":
            valve = self.calling | ~live
        if kind == "motor_3wire":
            valve = self.held_open = np.where(live, self.calling, self.held_open)
        valve = valve.copy()
        for b in self.breaks:
            if "valve" in b.does:
                valve[b.index] = b.does["valve"] == "open"
        return valve

    def _made(self, valve: Flags, live: Flags) -> Flags:
        """Which homes ask for the pump."""
        if self.plant.valve_kind == "motor_2wire":
            return self.calling & live
        made = valve.copy()
        for b in self.breaks:
            if b.does.get("switch") == "open":
                made[b.index] = False
        return made

    def _fire(self, hour: float) -> float:
        fire = 1.0
        for b in self.breaks:
            night = "night_off" in b.does and not 7 <= hour <= 21
            busy = "busy_off" in b.does and (5 < hour < 11 or 16 < hour < 23)
            fire *= 0.0 if night or busy else float(b.does.get("fire", 1.0))
        return fire

    def _driving(self) -> Floats:
        driving: Floats = (np.maximum(self.water - self.air, 0.0) / 100.0) ** 1.3
        return driving

    def _heat_water(self, outdoor: float, fire: float, needed: float) -> None:
        store, target = _STORE * len(self.air), self.target(outdoor)
        wanted = max(0.0, (target - self.water) * store / _STEP_H + needed)
        given = min(wanted, fire * self.capacity) if self.water < target + 3 else 0.0
        idle = 0.04 * store * (self.water - 75)
        water = self.water + (given - needed - idle) * _STEP_H / store
        self.water = max(float(np.mean(self.air)), water)

    def _rooms(self, outdoor: float, hour: float, heat: Floats) -> None:
        gain = self.gain * (1.5 if 17 < hour < 22 else 0.9) + self.each("gain")
        if self.sunny and 10.5 < hour < 16:
            gain = gain + self.each("sun")
        tight, out = _TIGHT * self.loss, self.loss * self.factor("loss")
        inflow = tight * self.core + out * outdoor + self.between * (self.near @ self.core)
        balance = (inflow + gain + heat) / (tight + out + self.between)
        self.air = self.air + (balance - self.air) * (1 - np.exp(-_STEP_H / _AIR_H))
        self.core += tight * (self.air - self.core) * _STEP_H / self.mass


def _neighbors(plant: Plant) -> dict[int, list[int]]:
    """Homes above, below and to either side."""
    spots = {spot: i for i, spot in enumerate(zip(plant.floor, plant.line, strict=True))}
    around = ((-1, 0), (1, 0), (0, -1), (0, 1))
    return {
        i: [
            spots[near]
            for up, along in around
            if (near := (floor + up, chr(ord(line) + along))) in spots
        ]
        for (floor, line), i in spots.items()
    }
