"""The control chain: from a thermostat's call to hot water in the emitter.

Theory of operation
-------------------
In a zone-valve building a thermostat drives its valve's motor from a transformer; when the valve is
fully open its end switch closes; the end switches of a loop stand in parallel on that loop's relay, so
any one of them starts the circulator; each relay's isolated contact asks the boiler for heat. A home
therefore gets heat when its valve is open AND the pump runs (for whatever reason) AND the water is
hot. Two numbers per home say it all: the share of full heat it gets while its thermostat calls, and
while it does not. Both are means over what the other homes on the loop happen to do meanwhile, which is
why a failed-open end switch heals itself in the cold: somebody else runs the pump. When the others call,
and that they call together, is told by ``company``.

The 24 V of the valve and that of the relay may come from two transformers: ``no_power`` is that of the
valve and of a powered thermostat, without it a relay that still has its own starts the pump for
others, past valves that are open.

Other topologies drop steps: two-wire valves have no end switch (a panel starts the pump). Zone
circulators have no valve: each home's call runs its own pump, while any home's call fires the boiler, so
that the hot water of others drifts or is pushed round a home whose check does not hold. Thermostatic
radiator valves and uncontrolled homes have pumps that run all season.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rules.heat.columns import Rows, column

__all__ = ["FULL", "ChainKind", "Chains", "Delivered", "Supply"]

# Radiator valves throttle over a band of a few degrees and many close badly: about this share of the
# flow gets by for each degree that the water is hotter than it should be (common practice, no source).
PAST_RADIATOR_VALVES_PER_F = 0.02
# Water that circulates past an idle boiler still carries a little heat (common practice, no source).
IDLE_BOILER_HEAT = 0.1
# An end switch that makes contact now and then passes about this share of calls.
ERRATIC_SHARE = 0.5
# Share of calls that fail while more homes call than an overloaded transformer holds: voltage sags for
# all of them, the early callers keep their valves (common practice, no source).
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
class Supply:
    """Share of full heat that the weather lets a source send out, 1 for water of one temperature."""

    share: float = 1.0
    follows_weather: bool = False


FULL = Supply()


@dataclass(frozen=True, slots=True)
class Delivered:
    """Share of full heat while calling and while not, 0 to about 1.4 with too hot water.

    ``missed`` is the share of the time a call waits until somebody runs the pump and the boiler, and
    ``felt`` the heat while calling, both at the hours at which that is felt; ``calling`` is that of all
    hours.
    """

    calling: Rows
    idle: Rows
    missed: Rows | float = 0.0
    felt: Rows | None = None

    def as_felt(self) -> Delivered:
        """What whoever complains finds."""
        return Delivered(self.calling if self.felt is None else self.felt, self.idle)


class Chains:
    """Chains in the given states, with all that other homes do not change worked out."""

    def __init__(self, rows: Rows, kind: ChainKind, supply: Supply = FULL) -> None:
        """Chains of one kind.

        Args:
            rows: states, columns last.
            kind: which steps the chains have.
            supply: what the weather lets the source send out. A plant that has lost part of its output
                still sends it as long as what is left suffices.
        """
        self._rows, self._kind = rows, kind
        self._power = 1 - column(rows, "no_power")
        self._short = OVERLOAD_SHARE * column(rows, "power_short")
        self._sent = _sent(rows, supply) * column(rows, "path") * column(rows, "emitter")
        self._sent *= column(rows, "capacity")
        self._alone = self._steps(self._power)

    def among(self, others_run: float, others_fire: float, crowded: float = 0.0) -> Delivered:
        """Heat delivered meanwhile.

        Args:
            others_run: chance that another home of the loop runs the pump.
            others_fire: chance that another loop has the boiler running.
            crowded: chance that more homes call than an overloaded transformer holds.
        """
        steps, rows = self._alone, self._rows
        if crowded > 0 and self._short.any():
            steps = self._steps(self._power * (1 - self._short * crowded))
        (open_calling, open_idle), (made_calling, made_idle) = steps
        calls = _running(rows, self._kind, made_calling, others_run, others_fire)
        rests = _running(rows, self._kind, made_idle, others_run, others_fire)
        waited = calls
        if steps is not self._alone:
            # What fails for the load of many fails while others run the pump: nobody waits for that.
            waited = _running(rows, self._kind, self._alone[1][0], others_run, others_fire)
        return Delivered(
            calling=open_calling * _warmth(rows, *calls) * self._sent,
            idle=open_idle * _warmth(rows, *rests) * self._sent,
            missed=1 - waited[0] * waited[1],
        )

    def _steps(self, power: Rows) -> tuple[tuple[Rows, Rows], tuple[Rows, Rows]]:
        """How far the valve opens, and whether the pump is asked for, while calling and while idle."""
        return (
            _valve_opening(self._rows, self._kind, power),
            _switch_made(self._rows, self._kind, power),
        )


def _valve_opening(rows: Rows, kind: ChainKind, power: Rows) -> tuple[Rows, Rows]:
    """How far the valve stands open, while calling and while idle."""
    stuck_open = column(rows, "valve_open")
    shut = column(rows, "valve_shut")
    leak = column(rows, "leak")
    always, never = column(rows, "always_calls"), column(rows, "never_calls")
    if kind.zoning != "zone_valve":
        # No valve that a call opens; a radiator valve that is stuck open passes heat at all times.
        passes = np.ones_like(shut) * (1 - shut)
        if kind.zoning != "trv":
            return passes, passes
        gets_by = np.clip(PAST_RADIATOR_VALVES_PER_F * column(rows, "water_shift_f"), 0.0, 1.0)
        return passes, np.maximum.reduce([stuck_open, always, leak, gets_by])
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
    if kind.zoning == "zone_circulator":
        asks = asks * power  # of the coil that starts the pump
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


def _running(
    rows: Rows, kind: ChainKind, own: Rows, others_run: float, others_fire: float
) -> tuple[Rows, Rows]:
    """Chances that the pump runs and that the boiler fires."""
    if kind.zoning in ("trv", "none"):
        run: Rows = np.ones_like(own)
    elif kind.zoning == "zone_circulator":
        run = own
    else:
        run = 1 - (1 - own) * (1 - others_run)
    relay = np.maximum(run * (1 - column(rows, "relay_dead")), column(rows, "relay_welded"))
    pump = relay * (1 - column(rows, "pump_contact_open"))
    asks = relay
    if kind.zoning == "zone_circulator":
        # Pumps of others do not move this home's water; their calls fire the boiler by the same panel.
        asks = 1 - (1 - relay) * (1 - others_run * (1 - column(rows, "relay_dead")))
    fires = 1 - (1 - asks * (1 - column(rows, "isolated_contact_open"))) * (1 - others_fire)
    fires = np.maximum(fires * (1 - column(rows, "demand_open")), column(rows, "demand_shorted"))
    return pump, fires


def _warmth(rows: Rows, pump: Rows, fires: Rows) -> Rows:
    """Hot water that flows past the valve, against a full flow of it."""
    flow = pump * column(rows, "flow") + (1 - pump) * column(rows, "check_leak")
    water = fires + IDLE_BOILER_HEAT * (1 - fires)
    warmth: Rows = flow * water
    return warmth


def _sent(rows: Rows, supply: Supply) -> Rows:
    """Share of full heat that an open emitter gives with the water that the source sends.

    Water that is too hot is so by some degrees in any weather, which counts most where it should be
    lukewarm; on the coldest days a curve asks for all that the source can give and too much is no more.
    Water that is too cold falls short in proportion, as with a curve that is too flat.
    """
    sent = np.minimum(supply.share, np.maximum(1 - column(rows, "output_lost"), 0.0))
    shift_f = column(rows, "water_shift_f")
    above_f = DESIGN_WATER_ABOVE_ROOM_F * max(supply.share, 0.01) ** (1 / EMITTER_EXPONENT)
    hotter = 1 + shift_f / np.where(shift_f > 0, above_f, DESIGN_WATER_ABOVE_ROOM_F)
    given: Rows = sent * np.maximum(hotter, 0.05) ** EMITTER_EXPONENT
    return np.minimum(given, np.maximum(sent, 1.0)) if supply.follows_weather else given
