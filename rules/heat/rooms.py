"""The temperature a home settles at, and how fast it gets there.

Theory of operation
-------------------
Per home, in degrees Fahrenheit and relative to its own heat loss: outdoor temperature pulls down,
people and appliances lift by ``FREE_HEAT_F``, a fully heated emitter lifts by ``full_heat_f``, and the
neighbours pull toward their own temperature. A thermostat holds the set point as long as the heat it
gets while calling suffices and the heat it gets while idle does not exceed the loss; otherwise the home
drifts to the equilibrium of whichever it is stuck with, first a fast drop of air and furniture, then
slowly with the building's mass.

The figures reproduce the duty of a healthy zone and the overheating of stuck valves of a two-loop
masonry building (a two-node calculation of our own kind, order of magnitude): duty 4 % at 60 F, 27 % at
45 F, 50 % at 30 F, 87 % at 5 F outdoors.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rules.heat.columns import Rows
from rules.heat.control import (
    DESIGN_WATER_ABOVE_ROOM_F,
    EMITTER_EXPONENT,
    FULL,
    Delivered,
    Supply,
)
from rules.heat.cooling import lead_left

__all__ = [
    "FELT_OF_HEAT",
    "Climate",
    "RoomCourse",
    "approached",
    "comfort_f",
    "fast_drop_f",
    "healthy_duty",
    "settle",
    "supply_at",
]

FREE_HEAT_F = 6.2
ROOM_F = 70.0
DESIGN_DUTY = 0.75  # share of full heat a healthy zone needs on the design day
RESET_MARGIN, RESET_LEAST = 1.3, 0.1
NEIGHBOUR_PULL = 1.3  # conductance to neighbours against that to outdoors
# Air, furniture and emitters follow within an hour or two before the mass does, by this share of the
# heat that is missing, as a rise of the equilibrium: 1.5 F at 45 F, 3 F at 20 F, 4 F at 5 F outdoors for
# one dead apartment (computed, order of magnitude). Neighbours hold walls, not air: it is no more where
# they are cold too.
FAST_OF_HEAT = 0.07
# What people feel falls by more than the thermometer: nothing warm stands in the room any more. What is
# felt is half air and half surfaces, of which radiators are a fiftieth or so and 80 F warmer than the
# rest (common practice, no source).
FELT_OF_HEAT = 0.1
# A home that calls and waits for others to run the pump sags meanwhile, by up to 1 F at 45 F outdoors
# where five others of the loop do so three quarters of the time (computed value of a two-loop masonry
# house, no source).
SAG_F = 4.0
FAST_HOURS = 1.0


@dataclass(frozen=True, slots=True)
class Climate:
    """Weather and building as the room model needs them."""

    outdoor_f: float
    design_outdoor_f: float
    time_constant_hours: float

    @property
    def full_heat_f(self) -> float:
        """Lift of the equilibrium by a fully heated emitter, in F, without neighbours."""
        return max(ROOM_F - self.design_outdoor_f - FREE_HEAT_F, 10.0) / DESIGN_DUTY


@dataclass(frozen=True, eq=False, slots=True)
class Holding:
    """By how far rooms are off their set points, in F, what thermostats do; arrays of any shape."""

    calls_below_f: Rows
    idle_above_f: Rows
    final_f: Rows
    holds_within_f: Rows  # of its final drift, whatever else; negative where it does not

    def at(self, drift_f: Rows) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Whether the thermostat, so far from the set point, is idle, and whether it calls; or holds."""
        off = np.abs(drift_f - self.final_f) > self.holds_within_f
        return off & (drift_f > self.idle_above_f), off & (drift_f < self.calls_below_f)


@dataclass(frozen=True, eq=False, slots=True)
class RoomCourse:
    """How homes fare from the onset of a fault on; arrays over any states."""

    heat: Delivered  # as whoever complains finds it
    set_f: float
    held_f: Rows  # what the thermostat really holds
    final_f: Rows
    tau_hours: Rows
    duty: Rows  # share of time a home at what it holds calls
    mass_hours: float  # time constant of a home that leaks to outdoors alone

    def parts(self) -> tuple[Rows, ...]:
        """Every array of the course."""
        heat = self.heat
        return (self.final_f, self.tau_hours, self.held_f, self.duty, heat.calling, heat.idle)

    def only(self, index: Any) -> RoomCourse:
        """The course of some of the states, by any index that numpy takes."""
        shape = self.final_f.shape
        final_f, tau_hours, held_f, duty, calling, idle = (
            np.broadcast_to(part, shape)[index] for part in self.parts()
        )
        heat = Delivered(calling, idle)
        return RoomCourse(heat, self.set_f, held_f, final_f, tau_hours, duty, self.mass_hours)

    def room_f(self, hours: float | Rows) -> Rows:
        """Room temperature that many hours after the onset."""
        share = approached(hours, self.tau_hours, self.mass_hours)
        room: Rows = self.set_f + (self.final_f - self.set_f) * share
        return room

    def phases(self) -> tuple[Rows, Rows, Rows]:
        """How warm the emitter is, 0 to 1, while the thermostat holds, is idle, or calls."""
        calling, idle = self.heat.calling, self.heat.idle
        mean = self.duty * calling + (1 - self.duty) * idle
        return np.clip(mean, 0.0, 1.0), np.clip(idle, 0.0, 1.0), np.clip(calling, 0.0, 1.0)

    def holding(self) -> Holding:
        """From where on the thermostats are idle, or call.

        A thermostat reacts to the room: above what it holds it is idle, below it calls. One that will
        hold something else than it is set to (it reads wrong, hangs badly, follows a schedule) does so
        from half way on: most such were there long before anybody wrote.
        """
        held_f, final_f = self.held_f - self.set_f, self.final_f - self.set_f
        will_hold = np.abs(final_f - held_f) < 0.5
        near_f = np.where(will_hold, 0.5 * np.abs(final_f), -1.0)
        return Holding(held_f - 0.5, held_f + 0.5, final_f, near_f)


def approached(
    hours: float | Rows, tau_hours: Rows, mass_hours: float, of_heat: float = FAST_OF_HEAT
) -> Rows:
    """Share of the way to its final temperature that a room has gone, air first, then mass.

    Args:
        hours: since the onset.
        tau_hours: of the home, beside all that pulls on it.
        mass_hours: of the same home that leaks to outdoors alone.
        of_heat: share of the missing heat that goes first, of the air or of what is felt.
    """
    # Heat that is missing is final temperature minus set point, times all that pulls on the home.
    at_once = of_heat * mass_hours / tau_hours
    fast = at_once * (1 - lead_left(hours, FAST_HOURS))
    share: Rows = fast + (1 - at_once) * (1 - lead_left(hours, tau_hours))
    return share


def fast_drop_f(climate: Climate) -> float:
    """How far the air of a home without any heat falls before its mass follows."""
    return FAST_OF_HEAT * max(ROOM_F - climate.outdoor_f - FREE_HEAT_F, 0.0)


def comfort_f(climate: Climate, set_f: float = ROOM_F) -> float:
    """What people expect of a home: its set point, and in warm weather what comes without any heat."""
    return max(set_f, climate.outdoor_f + FREE_HEAT_F)


def healthy_duty(climate: Climate, set_f: float = ROOM_F, gain_f: float = 0.0) -> float:
    """Share of time a healthy home calls for heat; ``gain_f`` is what it has beyond free heat."""
    need = set_f - climate.outdoor_f - FREE_HEAT_F - gain_f
    return float(np.clip(need / climate.full_heat_f, 0.0, 1.0))


def supply_at(climate: Climate, *, follows_weather: bool, rooms_controlled: bool) -> Supply:
    """What a source sends out at this weather.

    Fixed water is always full heat. An outdoor reset, or the cycle of a steam boiler, sends what the
    weather needs, with a margin where rooms have controls of their own (common practice, no source).
    """
    if not follows_weather:
        return FULL
    need = healthy_duty(climate)
    share = min(RESET_MARGIN * need + RESET_LEAST, 1.0) if rooms_controlled else need
    return Supply(share, follows_weather=True)


def settle(
    heat: Delivered,
    climate: Climate,
    *,
    set_f: float,
    loss: Rows,
    gain_f: Rows,
    offset_f: Rows,
    neighbours_f: float,
    neighbour_share: Rows | float,
) -> RoomCourse:
    """The course of room temperature under the given delivery.

    Args:
        heat: share of full heat while calling and while idle.
        climate: weather and building.
        set_f: set point, where the room starts.
        loss: heat loss against normal, 1 = normal.
        gain_f: extra free heat, as a rise of the equilibrium.
        offset_f: where the thermostat really holds, minus the set point.
        neighbours_f: temperature of the neighbouring homes.
        neighbour_share: share of neighbours that keep that temperature (the rest go along).
    """
    pull = NEIGHBOUR_PULL * neighbour_share
    held = set_f + offset_f
    calling = _equilibrium(heat.calling, climate, loss, gain_f, pull, neighbours_f)
    idle = _equilibrium(heat.idle, climate, loss, gain_f, pull, neighbours_f)
    need = (held - climate.outdoor_f) * loss - FREE_HEAT_F - gain_f
    sagged = np.maximum(held - SAG_F * heat.missed * (need > 0), np.minimum(idle, held))
    final = np.where(idle > held, idle, np.where(calling < held, calling, sagged))
    return RoomCourse(
        heat=heat.as_felt(),
        set_f=set_f,
        held_f=held,
        final_f=final,
        # Mass slows it down in proportion to what pulls on it.
        tau_hours=climate.time_constant_hours / (loss + pull),
        duty=np.clip(need / climate.full_heat_f, 0.0, 1.0),
        mass_hours=climate.time_constant_hours,
    )


def _equilibrium(
    heat: Rows, climate: Climate, loss: Rows, gain_f: Rows, pull: Rows | float, neighbours_f: float
) -> Rows:
    """Temperature at which loss equals gain, by a few damped steps (output falls as the room warms)."""
    room = np.full(
        np.broadcast_shapes(heat.shape, loss.shape, gain_f.shape, np.shape(pull)), ROOM_F
    )
    for _ in range(12):
        above = np.clip(ROOM_F + DESIGN_WATER_ABOVE_ROOM_F - room, 1.0, None)
        output = (
            climate.full_heat_f * heat * (above / DESIGN_WATER_ABOVE_ROOM_F) ** EMITTER_EXPONENT
        )
        new = (climate.outdoor_f * loss + FREE_HEAT_F + gain_f + output + pull * neighbours_f) / (
            loss + pull
        )
        room = 0.5 * room + 0.5 * new
    return room
