"""The fixed facts of a simulated building as arrays, and what breakdowns change in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from rules.plant import Plant

from .breakdowns import Case

__all__ = ["House", "State", "build_house", "healthy", "state_of"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

# One home loses about this much per degree; its neighbours, the air and what stands in it; own guess.
_LOSS_BTUH_F, _NEIGHBOUR_BTUH_F = 200.0, 55.0
_GAIN_BTUH = 1500.0
_OVERSIZE = 1.45
_EMITTER_HOURS = {"fin_tube": 0.08, "steel_panel": 0.3, "cast_iron": 1.3, "radiant_floor": 4.0}
_TAU_HOURS = {"masonry": 52.0, "light_frame": 27.0}


@dataclass(frozen=True)
class House:
    """Arrays over homes (n), loops (m) and transformers; nothing here ever breaks."""

    plant: Plant
    names: tuple[str, ...]
    loss: Floats
    full_heat: Floats
    gain: Floats
    heat_capacity: Floats
    beside: Floats  # n x n conductance
    emitter_hours: Floats
    loop: Ints
    loop_names: tuple[str, ...]
    in_loop: Floats  # n x m
    transformer: Ints  # -1 none
    transformer_names: tuple[str, ...]
    relay_transformer: Ints
    powered_stat: NDArray[np.bool_]
    kind: str  # four_wire, heat_motor, two_wire, normally_open, zone_circulator, trv
    is_far: NDArray[np.bool_]
    is_top: NDArray[np.bool_]
    set_f: Floats
    resets: bool
    design_f: float

    @property
    def output_btuh(self) -> float:
        """What a healthy heat source gives."""
        return float(1.3 * (self.loss * (70 - self.design_f)).sum())


@dataclass
class State:
    """What can break, over cases (b) and homes, loops, transformers; healthy unless a case says."""

    stat: Floats  # 1 always calls, -1 never, 0 by temperature
    shown: Floats
    set_by: Floats
    top_set: Floats
    motor: Floats
    stuck: Floats  # 1 open, -1 shut
    sticky: Floats
    leak: Floats
    switch: Floats  # 1 closed, -1 open, 2 erratic
    path: Floats
    rise: Floats  # water through the riser that a home hangs on
    emit: Floats
    loss: Floats
    gain: Floats
    gain_when: Floats  # 0 always, 1 sun, 2 evening
    wish: Floats
    coil: Floats
    weld: Floats
    contact: Floats
    iso: Floats
    flow: Floats
    far: Floats
    ghost: Floats
    volts: Floats
    overload: Floats
    fire: Floats
    capacity: Floats
    water: Floats
    calm_above: Floats
    off_from: Floats
    off_to: Floats
    demand: Floats  # 1 shorted, -1 open
    top: Floats
    tap: Floats  # 1 cold, 2 lukewarm, 3 too hot


_ONES = frozenset(
    [
        "motor",
        "path",
        "rise",
        "emit",
        "loss",
        "coil",
        "contact",
        "iso",
        "flow",
        "far",
        "volts",
        "fire",
        "capacity",
        "top",
    ]
)
_BIG = {"top_set": 99.0, "calm_above": 999.0}
_WORDS = {
    "stat": {"on": 1.0, "off": -1.0},
    "stuck": {"open": 1.0, "shut": -1.0},
    "switch": {"closed": 1.0, "open": -1.0, "erratic": 2.0},
    "demand": {"short": 1.0, "open": -1.0},
    "gain_when": {"always": 0.0, "sun": 1.0, "evening": 2.0},
    "tap": {"cold": 1.0, "lukewarm": 2.0, "hot": 3.0},
}
_OF_LOOP = frozenset(["coil", "weld", "contact", "iso", "flow", "far", "ghost"])
_OF_TRANSFORMER = frozenset(["volts", "overload"])
_OF_SOURCE = frozenset(
    ["fire", "capacity", "water", "calm_above", "off_from", "off_to", "demand", "top", "tap"]
)


def build_house(rng: np.random.Generator, plant: Plant, topology: str) -> House:
    """Draw how leaky, sunny and warm-loving the homes of a building are."""
    homes = plant.apartments
    n = len(homes)
    loss = _LOSS_BTUH_F * _exposed(plant) * rng.uniform(0.88, 1.12, n)
    full = _OVERSIZE * (loss * (70 - plant.design_outdoor_f) - _GAIN_BTUH) / 0.93
    loops = [x.id for x in plant.loops]
    loop = np.array([loops.index(a.loop) for a in homes])
    power = [t.id for t in plant.transformers]
    relay_power = [x.relay.transformer if x.relay else None for x in plant.loops]
    through_relay = np.array([power.index(r) if r in power else -1 for r in relay_power])
    stats = [a.thermostat.kind if a.thermostat else "none" for a in homes]
    return House(
        plant=plant,
        names=tuple(a.id for a in homes),
        loss=loss,
        full_heat=full,
        gain=_GAIN_BTUH * rng.uniform(0.6, 1.4, n),
        heat_capacity=_TAU_HOURS[plant.construction] * loss,
        beside=_beside(plant),
        emitter_hours=np.array([_EMITTER_HOURS[a.emitter] for a in homes]),
        loop=loop,
        loop_names=tuple(loops),
        in_loop=np.eye(len(loops))[loop],
        transformer=_valve_power(plant, power, through_relay[loop]),
        transformer_names=tuple(power),
        relay_transformer=through_relay,
        powered_stat=np.array([s == "powered" for s in stats]),
        kind=topology,
        is_far=_far_half(loop),
        is_top=np.array([a.floor == max(h.floor for h in homes) for a in homes]),
        set_f=np.round(np.clip(rng.normal(70.5, 1.7, n), 66, 75)),
        resets=plant.heat_sources[0].control == "outdoor_reset",
        design_f=plant.design_outdoor_f,
    )


def _exposed(plant: Plant) -> Floats:
    """Loss against a home in the middle: top floor and corners lose more."""
    homes = plant.apartments
    top = max(a.floor for a in homes)
    lines = sorted({a.line for a in homes})
    return np.array(
        [1 + 0.15 * (a.floor == top) + 0.1 * (a.line in (lines[0], lines[-1])) for a in homes]
    )


def _beside(plant: Plant) -> Floats:
    at = {a.id: k for k, a in enumerate(plant.apartments)}
    beside = np.zeros((len(at), len(at)))
    for home, k in at.items():
        for other in plant.neighbours(home):
            beside[k, at[other]] = _NEIGHBOUR_BTUH_F
    return beside


def _valve_power(plant: Plant, power: Sequence[str], through_relay: Ints) -> Ints:
    """The transformer of each home's valve, or of its loop's relay if it has none."""
    own = [a.valve.transformer if a.valve else None for a in plant.apartments]
    found = [power.index(x) if x in power else r for x, r in zip(own, through_relay, strict=True)]
    return np.array(found)


def _far_half(loop: Ints) -> NDArray[np.bool_]:
    """The last half of each loop in the order of the file: its far end."""
    far = np.zeros(len(loop), dtype=bool)
    for x in np.unique(loop):
        members = np.flatnonzero(loop == x)
        far[members[(len(members) + 1) // 2 :]] = True
    return far


def healthy(house: House, cases: int) -> State:
    """Nothing is broken, for so many cases."""
    values = {}
    for f in fields(State):
        width = len(house.names)
        if f.name in _OF_LOOP:
            width = len(house.loop_names)
        elif f.name in _OF_TRANSFORMER:
            width = max(len(house.transformer_names), 1)
        elif f.name in _OF_SOURCE:
            width = 1
        base = 1.0 if f.name in _ONES else _BIG.get(f.name, 0.0)
        values[f.name] = np.full((cases, width), base)
    return State(**values)


def state_of(house: House, worlds: Sequence[Sequence[Case]], step: int) -> State:
    """What is broken at a step, one row per world."""
    state = healthy(house, len(worlds))
    for b, cases in enumerate(worlds):
        for case in cases:
            if case.step <= step:
                _break(house, state, b, case)
    return state


def _break(house: House, state: State, b: int, case: Case) -> None:
    for name, value in case.amounts.items():
        if name == "off_hours":
            state.off_from[b], state.off_to[b] = value
            continue
        number = _WORDS.get(name, {}).get(value, value) if isinstance(value, str) else value
        array = getattr(state, name)
        array[b, _column(house, case, name)] = float(number)


def _column(house: House, case: Case, name: str) -> int | list[int]:
    if name in _OF_SOURCE:
        return 0
    if name in _OF_TRANSFORMER:
        return house.transformer_names.index(case.component)
    if name in _OF_LOOP:
        part = house.plant.component(case.component)
        return house.loop_names.index(part.loop or part.id)
    if name == "rise":
        hanging = next(r.homes for r in house.plant.risers if r.id == case.component)
        return [house.names.index(home) for home in hanging]
    return house.names.index(str(case.home))
