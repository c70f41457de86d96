"""The fixed facts of a simulated building as arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rules.plant import Plant

__all__ = ["ONE_PIPE_LOSS", "House", "build_house"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

# One home loses about this much per degree; its neighbours, the air and what stands in it; own guess.
_LOSS_BTUH_F, _NEIGHBOUR_BTUH_F = 200.0, 55.0
_GAIN_BTUH = 1500.0
_OVERSIZE = 1.45
# A single pipe's water loses this share of its lead over the rooms on its way, at full flow.
ONE_PIPE_LOSS = 0.19
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
    kind: str  # four_wire, heat_motor, two_wire, normally_open, zone_circulator, trv, series
    boilers: tuple[str, ...]
    along: Floats  # the share of its loop's pipe that lies before each home
    is_far: NDArray[np.bool_]
    is_top: NDArray[np.bool_]
    set_f: Floats
    resets: bool
    design_f: float

    @property
    def output_btuh(self) -> float:
        """What a healthy heat source gives."""
        return float(1.3 * (self.loss * (70 - self.design_f)).sum())


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
    in_series = topology == "series"
    along = _along(loop)
    if in_series:  # emitters farther on are larger, as the water there is cooler
        full = full / _OVERSIZE * np.exp(1.4 * ONE_PIPE_LOSS * along)
    gain = _GAIN_BTUH * rng.uniform(0.6, 1.4, n)
    wish = rng.normal(70.5, 1.7, n)
    return House(
        plant=plant,
        names=tuple(a.id for a in homes),
        loss=loss,
        full_heat=full,
        gain=gain,
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
        boilers=tuple(s.id for s in plant.heat_sources),
        along=along,
        is_far=_far_half(loop),
        is_top=np.array([a.floor == max(h.floor for h in homes) for a in homes]),
        # Who cannot choose has got used to it.
        set_f=np.round(np.clip(wish, 66, 75)) if not in_series else 70.5 + (wish - 70.5) / 4,
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


def _along(loop: Ints) -> Floats:
    """The share of its loop that lies before the middle of each home, in the order of the file."""
    share = np.zeros(len(loop))
    for x in np.unique(loop):
        members = np.flatnonzero(loop == x)
        share[members] = (np.arange(len(members)) + 0.5) / len(members)
    return share


def _far_half(loop: Ints) -> NDArray[np.bool_]:
    """The last half of each loop in the order of the file: its far end."""
    far = np.zeros(len(loop), dtype=bool)
    for x in np.unique(loop):
        members = np.flatnonzero(loop == x)
        far[members[(len(members) + 1) // 2 :]] = True
    return far
