"""The control chain: from a thermostat's call to hot water in the emitter.

Theory of operation
-------------------
In a zone-valve building a thermostat drives its valve's motor from a transformer; when the valve is
fully open its end switch closes; the end switches of a loop stand in parallel on that loop's relay, so
any one of them starts the circulator; each relay's isolated contact asks the boiler for heat. A home
therefore gets heat when its valve is open AND the pump runs (for whatever reason) AND the water is
hot. Two numbers per home say it all: the share of full heat it gets while its thermostat calls, and
while it does not. Both are means over what the other homes on the loop happen to do at this weather,
which is why a failed-open end switch heals itself in the cold: somebody else runs the pump.

Other topologies drop steps: two-wire valves have no end switch (a panel starts the pump), zone
circulators have no valve, thermostatic radiator valves and uncontrolled homes have pumps that run all
season.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rules.heat.columns import Rows, column

__all__ = ["ChainKind", "Delivered", "delivered", "others_calling"]

# Water that circulates past an idle boiler still carries a little heat (common practice, no source).
IDLE_BOILER_HEAT = 0.1
# An end switch that makes contact now and then passes about this share of calls.
ERRATIC_SHARE = 0.5
# Share of calls that an overloaded transformer fails when everybody calls (common practice, no source).
OVERLOAD_SHARE = 0.7
# Emitter output against water temperature: (T_water - T_room) over its design value, to this power;
# exponent 1.4 as commonly used for fin-tube and radiators (value from memory of handbooks).
EMITTER_EXPONENT = 1.4
DESIGN_WATER_ABOVE_ROOM_F = 100.0


@dataclass(frozen=True, slots=True)
class ChainKind:
    """Which steps a home's chain has."""

    zoning: str  # as in the building file
    valve_kind: str | None


@dataclass(frozen=True, slots=True)
class Delivered:
    """Share of full heat while calling and while not, 0 to about 1.4 with too hot water."""

    calling: Rows
    idle: Rows


def others_calling(duty: float, others: int) -> float:
    """Chance that at least one of ``others`` homes calls, each with the given duty.

    Reproduces the shape of the trade's experience: rarely in mild weather, nearly always in the cold.
    """
    return 1 - (1 - min(max(duty, 0.0), 1.0)) ** others


def delivered(
    rows: Rows, kind: ChainKind, others_run: float, others_fire: float, supply: float = 1.0
) -> Delivered:
    """Heat delivered by chains in the given states.

    Args:
        rows: states, columns last.
        kind: which steps the chain has.
        others_run: chance that another home of the loop runs the pump.
        others_fire: chance that another loop has the boiler running.
        supply: share of full heat that the weather lets the source send out. A plant that has lost
            part of its output still sends it as long as what is left suffices.
    """
    power = (1 - column(rows, "no_power")) * _power_under_load(rows, others_run)
    open_calling, open_idle = _valve_opening(rows, kind, power)
    switch_calling, switch_idle = _switch_made(rows, kind, power)
    sent = np.minimum(supply, np.maximum(1 - column(rows, "output_lost"), 0.0))
    return Delivered(
        calling=_heat(rows, kind, open_calling, switch_calling, others_run, others_fire) * sent,
        idle=_heat(rows, kind, open_idle, switch_idle, others_run, others_fire) * sent,
    )


def _power_under_load(rows: Rows, others_run: float) -> Rows:
    # An overloaded transformer drops out when many call at once, hence in the cold; the early
    # callers keep their valves, so a share gets through even then.
    return 1 - OVERLOAD_SHARE * column(rows, "power_short") * others_run**2


def _valve_opening(rows: Rows, kind: ChainKind, power: Rows) -> tuple[Rows, Rows]:
    """How far the valve stands open, while calling and while idle."""
    stuck_open = column(rows, "valve_open")
    shut = column(rows, "valve_shut")
    leak = column(rows, "leak")
    always, never = column(rows, "always_calls"), column(rows, "never_calls")
    if kind.zoning != "zone_valve":
        # No valve that a call opens; a radiator valve that is stuck open passes heat at all times.
        passes = np.ones_like(shut) * (1 - shut)
        closes = kind.zoning == "trv"
        return passes, np.maximum.reduce([stuck_open, always, leak]) if closes else passes
    driven = power * (1 - column(rows, "motor_dead"))
    if kind.valve_kind == "normally_open":
        # Power closes it: without power it is open whatever the thermostat says.
        calling = np.maximum(1 - never * driven, stuck_open)
        idle = np.maximum.reduce([stuck_open, 1 - driven, always])
    else:
        calling = np.maximum(driven * (1 - never), stuck_open)
        idle = np.maximum(driven * always, stuck_open)
    return np.maximum(calling * (1 - shut), leak), np.maximum(idle * (1 - shut), leak)


def _switch_made(rows: Rows, kind: ChainKind, power: Rows) -> tuple[Rows, Rows]:
    """Chance that this home itself asks for the pump, while calling and while idle."""
    always, never = column(rows, "always_calls"), column(rows, "never_calls")
    asks = 1 - never
    if kind.zoning == "zone_valve":
        moves = (1 - column(rows, "motor_dead")) * (1 - column(rows, "valve_shut"))
        two_wire = kind.valve_kind == "motor_2wire"
        asks = asks * power * (1.0 if two_wire else moves)
        if not two_wire:
            # A valve stuck open does not drive its switch: whether it is made is the fault's own.
            asks = asks * (1 - column(rows, "valve_open") * column(rows, "switch_open"))
            asks = asks * (1 - column(rows, "switch_open"))
            asks = asks * (1 - (1 - ERRATIC_SHARE) * column(rows, "switch_erratic"))
    closed = column(rows, "switch_closed")
    return np.maximum(asks, closed), np.maximum(asks * always, closed)


def _heat(
    rows: Rows, kind: ChainKind, opening: Rows, own: Rows, others_run: float, others_fire: float
) -> Rows:
    if kind.zoning in ("trv", "none"):
        run: Rows = np.ones_like(own)
    elif kind.zoning == "zone_circulator":
        run = own
    else:
        run = 1 - (1 - own) * (1 - others_run)
    relay = run * (1 - column(rows, "relay_dead")) * (1 - column(rows, "no_power"))
    relay = np.maximum(relay, column(rows, "relay_welded"))
    pump = relay * (1 - column(rows, "pump_contact_open"))
    flow = pump * column(rows, "flow") + (1 - pump) * column(rows, "check_leak")
    fires = 1 - (1 - relay * (1 - column(rows, "isolated_contact_open"))) * (1 - others_fire)
    fires = np.maximum(fires * (1 - column(rows, "demand_open")), column(rows, "demand_shorted"))
    water = fires + IDLE_BOILER_HEAT * (1 - fires)
    output = column(rows, "path") * column(rows, "emitter") * column(rows, "capacity")
    return opening * flow * water * output * _water_factor(column(rows, "water_shift_f"))


def _water_factor(shift_f: Rows) -> Rows:
    hotter = np.clip(1 + shift_f / DESIGN_WATER_ABOVE_ROOM_F, 0.05, 2.0)
    factor: Rows = hotter**EMITTER_EXPONENT
    return factor
