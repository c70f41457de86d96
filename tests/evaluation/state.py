"""What is broken in a simulated building: arrays over cases and homes, loops, transformers, boilers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from .breakdowns import Case
from .house import House

__all__ = ["State", "healthy", "state_of"]

Floats = NDArray[np.float64]


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
_OF_BOILER = frozenset(["fire", "capacity"])
_OF_SOURCE = frozenset(["water", "calm_above", "off_from", "off_to", "demand", "top", "tap"])


def healthy(house: House, cases: int) -> State:
    """Nothing is broken, for so many cases."""
    values = {}
    for f in fields(State):
        width = len(house.names)
        if f.name in _OF_LOOP:
            width = len(house.loop_names)
        elif f.name in _OF_TRANSFORMER:
            width = max(len(house.transformer_names), 1)
        elif f.name in _OF_BOILER:
            width = len(house.boilers)
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


def _column(house: House, case: Case, name: str) -> int | list[int] | slice:
    if name in _OF_BOILER:
        alone = case.component in house.boilers
        return house.boilers.index(case.component) if alone else slice(None)
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
