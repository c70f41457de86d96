"""What a technician reads in the simulated building: chain, fault, and a meter's noise."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from rules.faults.catalogue import checks
from rules.model import CheckId, ComponentId, Found
from rules.plant import ComponentKind

from .breakdowns import Case
from .chain import Chain
from .world import World

__all__ = ["take_reading"]

_WRONG = 0.03
_OPEN_OHM = 5e6
# Figures of a healthy plant where the simulated chain says nothing: (value, unit) or by call.
_FIGURES: Mapping[str, tuple[float, str]] = {
    "prim_volts": (120, "V"),
    "fuse_check": (0.1, "V"),
    "short_hunt": (120, "ohm"),
    "coil_ohms": (180, "ohm"),
    "cap_uf": (99, "percent"),
    "strainer_dp": (1.0, "psi"),
    "tank_charge": (12, "psi"),
    "leak_watch": (0.3, "psi"),
    "gas_pressure": (7, "in_wc"),
    "combustion_test": (35, "ppm"),
    "ambient_co": (2, "ppm"),
    "balance_read": (4, "F"),
    "heat_loss": (130, "percent"),
}


@dataclass(frozen=True)
class _Bench:
    """One check at one component of copy 0, with whom the technician makes call."""

    world: World
    step: int
    check: str
    component: ComponentId

    @property
    def homes(self) -> list[int]:
        """Homes that the component serves; the ones made to call."""
        return served(self.world, self.component)

    def chain(self, *, calling: bool) -> Chain:
        """The chain with these homes calling, or not."""
        return self.world.tested(self.step, self.homes, calling=calling)

    @property
    def loop(self) -> int:
        """The loop of the component's first home."""
        return int(self.world.house.loop[self.homes[0]])

    @property
    def water_f(self) -> float:
        """Water at the boiler after a few minutes of call."""
        return float(self.world.water[self.step, 0, 0])


def served(world: World, component: ComponentId) -> list[int]:
    """Indices of the homes that a component belongs to or feeds."""
    house = world.house
    part = house.plant.component(component)
    if part.apartment is not None:
        return [house.names.index(str(part.apartment))]
    if part.kind is ComponentKind.TRANSFORMER:
        group = house.transformer_names.index(component)
        loops = np.flatnonzero(house.relay_transformer == group)
        return [
            k
            for k in range(len(house.names))
            if house.transformer[k] == group or house.loop[k] in loops
        ]
    hanging = next((r.homes for r in house.plant.risers if r.id == component), None)
    if hanging is not None:
        return [house.names.index(home) for home in hanging]
    name = part.loop or (part.id if part.kind is ComponentKind.LOOP else None)
    if name is not None:
        return [int(k) for k in np.flatnonzero(house.loop == house.loop_names.index(name))]
    return list(range(len(house.names)))


def take_reading(
    rng: np.random.Generator, world: World, step: int, check: CheckId, component: ComponentId
) -> list[Found]:
    """One check; two findings where it is made with and without a call, none where it cannot be."""
    bench = _Bench(world, step, check, component)
    wrong = rng.random() < _WRONG
    row = checks()[check]
    told = _told(bench)
    if row.outcomes:
        word = told if isinstance(told, str) else _word(bench)
        if wrong:
            word = str(rng.choice([w for w in row.outcomes if w != word]))
        return [Found(check, component, outcome=word)]
    found = []
    for calling in _states(row):
        value, unit = _figure(bench, row, calling)
        spoken = told.get("call" if calling else "idle") if isinstance(told, dict) else told
        if spoken is not None:
            value = float(rng.uniform(*spoken))
        if wrong:
            value = float(rng.choice([0.0, value * 3 + 1, value / 4]))
        value = round(value * float(rng.normal(1, 0.02)) + float(rng.normal(0, 0.02)), 2)
        if row.range is not None:
            value = float(np.clip(value, *row.range))
        found.append(Found(check, component, value=value, unit=unit, calling=calling))
    if check == "gauge_tp":
        degrees = round(bench.water_f + float(rng.normal(0, 2)), 0)
        found.append(Found(check, component, value=degrees, unit="F"))
    return found


def _states(row: Any) -> list[bool | None]:
    """The states of the call that the check is made in."""
    return list(dict.fromkeys(h.calling for h in row.healthy)) or [None]


def _told(bench: _Bench) -> Any:
    """What a breakdown that touches this component says of this check."""
    reach = set(bench.homes)
    for case in _present(bench.world, bench.step):
        speaks = bench.check in case.row.reads and _same_class(bench, case)
        if speaks and reach & set(served(bench.world, case.component)):
            return case.row.reads[bench.check]
    return None


def _same_class(bench: _Bench, case: Case) -> bool:
    """A pump's reading is of that pump: at parts of its own class only the part itself speaks."""
    plant = bench.world.house.plant
    here = plant.component(bench.component).kind
    return here != plant.component(case.component).kind or bench.component == case.component


def _present(world: World, step: int) -> Sequence[Case]:
    return [c for c in world.copies[0] if c.step <= step]


def _figure(bench: _Bench, row: Any, calling: bool | None) -> tuple[float, str]:
    unit = row.healthy[0].unit
    name = bench.check
    if name in _FIGURES:
        return _FIGURES[name]
    chain = bench.chain(calling=calling is not False)
    makers = {
        "motor_volts": _motor_volts,
        "stat_volts": _stat_volts,
        "coil_volts": lambda b, c: _live(_any_made(b, c) * _relay_volts(b, c), 26),
        "end_switch_lifted": lambda b, c: 0.4 if c.made[0, b.homes[0]] > 0.5 else _OPEN_OHM,
        "end_switch_volts": _switch_volts,
        "pump_contact": lambda b, c: _live(1 - _contact(b, c), 120),
        "iso_contact": lambda b, c: _live(1 - float(c.pulled[0, b.loop] * _of(b, "iso")), 26),
        "demand_pair": lambda _, c: _live(1 - float(c.asks[0, 0]), 26),
        "pump_volts": _pump_volts,
        "pump_amps": lambda b, c: 1.1 if _pump_volts(b, c) > 60 else 0.0,
        "loop_dt": _loop_drop,
        "sec_volts": lambda b, _: _live(_transformer_volts(b), 26),
        "sec_amps": lambda b, _: 55.0 * _transformer_volts(b),
        "wire_ohms": lambda *_: 2.5 if calling else _OPEN_OHM,
        "motor_ohms": lambda b, _: 15.0 if b.world.house.kind == "heat_motor" else 150.0,
        "stroke_time": _stroke,
        "gauge_tp": lambda *_: 16.0,
        "flame_signal": lambda b, _: 3.0 * float(_of_source(b, "fire")),
        "curve_check": _curve_off,
        "room_probe": lambda b, _: float(b.world.state(b.step).shown[0, b.homes[0]]),
    }
    return float(makers[name](bench, chain)), unit


def _live(share: float, volts: float) -> float:
    return volts if share > 0.5 else 0.2


def _of(bench: _Bench, name: str) -> float:
    return float(getattr(bench.world.state(bench.step), name)[0, bench.loop])


def _of_source(bench: _Bench, name: str) -> float:
    """Of the boiler that is looked at, or of the one that does best where it is none."""
    each, boilers = getattr(bench.world.state(bench.step), name)[0], bench.world.house.boilers
    alone = bench.component in boilers
    return float(each[boilers.index(bench.component)] if alone else each.max())


def _motor_volts(bench: _Bench, chain: Chain) -> float:
    home = bench.homes[0]
    if bench.world.house.kind == "normally_open":  # power closes it
        return _live(float((1 - chain.call[0, home]) * chain.volts[0, home]), 26)
    return _live(float(chain.driven[0, home]), 26)


def _stat_volts(bench: _Bench, chain: Chain) -> float:
    home = bench.homes[0]
    return _live(float((1 - chain.call[0, home]) * chain.volts[0, home]), 26)


def _any_made(bench: _Bench, chain: Chain) -> float:
    return float(chain.made[0, bench.world.house.loop == bench.loop].max())


def _relay_volts(bench: _Bench, _chain: Chain) -> float:
    group = int(bench.world.house.relay_transformer[bench.loop])
    return float(bench.world.state(bench.step).volts[0, group]) if group >= 0 else 1.0


def _transformer_volts(bench: _Bench) -> float:
    group = bench.world.house.transformer_names.index(bench.component)
    return float(bench.world.state(bench.step).volts[0, group])


def _switch_volts(bench: _Bench, chain: Chain) -> float:
    return _live((1 - _any_made(bench, chain)) * _relay_volts(bench, chain), 26)


def _contact(bench: _Bench, chain: Chain) -> float:
    return max(float(chain.pulled[0, bench.loop]), _of(bench, "weld"))


def _pump_volts(bench: _Bench, chain: Chain) -> float:
    if _contact(bench, chain) < 0.5:
        return 0.2
    good = _of(bench, "contact")
    return 120.0 if good > 0.9 else (0.2 if good == 0 else 60 + 80 * good)


def _loop_drop(bench: _Bench, chain: Chain) -> float:
    flow = float(chain.flow[0, bench.loop])
    if bench.water_f < 110:
        return 4.0
    return 20.0 if flow > 0.6 else (38.0 if flow > 0.1 else 60.0)


def _stroke(bench: _Bench, chain: Chain) -> float:
    moves = float(chain.driven[0, bench.homes[0]]) * float(
        bench.world.state(bench.step).motor[0, bench.homes[0]]
    )
    slow = bench.world.house.kind == "heat_motor"
    return (150.0 if slow else 30.0) if moves > 0.5 else (150.0 if slow else 15.0)


def _curve_off(bench: _Bench, _chain: Chain) -> float:
    return 1.0 if _of_source(bench, "fire") > 0.5 else min(bench.water_f - 150.0, -20.0)


def _word(bench: _Bench) -> str:
    """A word that follows from the chain, else the healthy one, which stands first."""
    check = checks()[CheckId(bench.check)]
    outcomes = check.outcomes
    if check.needs == "fire" and _of_source(bench, "fire") < 0.5:
        return next(str(row.outcome) for row in check.without)
    makers = {
        "pipe_temps": _pipe_word,
        "emitter_temps": _emitter_word,
        "lift_stat_lead": _lift_word,
        "jumper_stat": _jumper_word,
        "jumper_at_stat": lambda b: "opens" if _can_move(b) else "nothing_moves",
        "lever_feel": _lever_word,
        "pump_feel": lambda b: (
            "light_hum" if _pump_volts(b, b.chain(calling=True)) > 60 else "silent_cold"
        ),
        "dhw_temp": _tank_word,
        "hot_taps_look": lambda b: (
            "all_tepid" if int(b.world.tap(b.step)[0]) in (1, 2) else "all_hot"
        ),
        "half_split_bus": lambda b: (
            "drops_when_lifted"
            if b.chain(calling=False).pulled[0, b.loop] > 0.5
            else "relay_not_in"
        ),
        "hx_temps": lambda b: "on_target" if _of_source(b, "fire") > 0.5 else "primary_cold",
    }
    return makers[bench.check](bench) if bench.check in makers else outcomes[0]


def _hot_pipe(bench: _Bench, chain: Chain) -> bool:
    return bool(chain.through[0, bench.homes[0]] > 0.05 and bench.water_f > 110)


def _pipe_word(bench: _Bench) -> str:
    on, off = bench.chain(calling=True), bench.chain(calling=False)
    if _hot_pipe(bench, on):
        return "outlet_stays_hot" if _hot_pipe(bench, off) else "outlet_follows_call"
    flows = on.flow[0, bench.loop] > 0.1 and bench.water_f > 110
    return "outlet_cold" if flows else "both_cold"


def _emitter_word(bench: _Bench) -> str:
    through = float(bench.chain(calling=True).through[0, bench.homes[0]])
    if through < 0.05 or bench.water_f < 90:
        return "inlet_cold"
    if through < 0.25 or bench.water_f < 115:
        return "as_warm_as_supply" if bench.world.house.resets and through > 0.25 else "lukewarm"
    return "as_warm_as_supply"


def _lift_word(bench: _Bench) -> str:
    chain, home = bench.chain(calling=False), bench.homes[0]
    if chain.opening[0, home] < 0.5:
        return "stays_shut"
    return "closes" if chain.driven[0, home] > 0.5 else "stays_open"


def _can_move(bench: _Bench) -> bool:
    state, home = bench.world.state(bench.step), bench.homes[0]
    powered = bench.chain(calling=True).volts[0, home] > 0.5
    return bool(powered and state.motor[0, home] > 0.5 and state.stuck[0, home] >= 0)


def _jumper_word(bench: _Bench) -> str:
    if not _can_move(bench):
        return "nothing_moves"
    state, home = bench.world.state(bench.step), bench.homes[0]
    plant = (
        _relay_volts(bench, bench.chain(calling=True)) * _of(bench, "coil") * _of(bench, "contact")
    )
    starts = plant * _of(bench, "flow") > 0.3 and state.switch[0, home] != -1
    return "opens_and_plant_starts" if starts else "opens_no_pump"


def _lever_word(bench: _Bench) -> str:
    """By the time a technician pushes it, an idle valve is shut; one that calls has opened."""
    return "limp" if bench.chain(calling=False).opening[0, bench.homes[0]] > 0.5 else "firm"


def _tank_word(bench: _Bench) -> str:
    tap = int(bench.world.tap(bench.step)[0])
    return ("tank_and_tap_right", "tank_cold", "tap_tepid_tank_hot", "tap_too_hot")[tap]
