"""A technician who does the checks a ticket lists, in its order, and reports what the world shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from numpy.random import Generator

from .breaks import Break
from .door import Door
from .plants import Json
from .world import World

__all__ = ["Visit", "visit"]

_SURE = 0.9
_MOST_CHECKS = 18
_OPEN_OHM = 1e6
_COLD_WATER_F = 88.0
_NEVER_S = 600.0
# What a meter shows where nothing is broken; common practice, no source.
_HEALTHY = {
    "motor_ohms": 180.0,
    "stroke_time": 25.0,
    "end_switch_lifted": _OPEN_OHM,
    "end_switch_volts": 26.0,
    "wire_ohms": _OPEN_OHM,
    "sec_volts": 26.0,
    "prim_volts": 120.0,
    "sec_amps": 55.0,
    "fuse_check": 0.1,
    "short_hunt": 90.0,
    "coil_ohms": 120.0,
    "iso_contact": 0.1,
    "pump_amps": 0.8,
    "cap_uf": 98.0,
    "strainer_dp": 0.8,
    "gas_pressure": 7.0,
    "flame_signal": 3.0,
    "ambient_co": 2.0,
    "curve_check": 1.0,
    "balance_read": 4.0,
    "room_probe": 0.5,
    "heat_loss": 130.0,
    "steam_gauge": 1.0,
    "leak_watch": 0.2,
    "tank_charge": 12.0,
    "combustion_test": 40.0,
}
_LOW_PRESSURE = ("lwco_trip", "pressure_switch_low", "fill_low_pressure")
_HOT = {False: "outlet_follows_call", True: "outlet_stays_hot"}
_DEAD_PUMP = frozenset({"relay_coil_dead", "relay_contact_burnt", "breaker_tripped_loop"})


@dataclass
class Visit:
    """What a technician did about one ticket."""

    minutes: float = 0.0
    checks: list[str] = field(default_factory=list)
    verdict: tuple[str, str] | None = None
    notes: list[str] = field(default_factory=list)
    last: Json = field(default_factory=dict)


def visit(rng: Generator, door: Door, world: World, ticket: Json) -> Visit:
    """Do the listed checks until the likeliest suspect is past 0.9, or nothing new is listed."""
    made = Visit(last=ticket)
    done: set[tuple[str, str]] = set()
    hot = "too_hot" in ticket.get("kinds", [])
    while len(made.checks) < _MOST_CHECKS:
        sure = max(made.last["suspects"], key=lambda s: s["probability"], default=None)
        if sure and sure["probability"] > _SURE:
            made.verdict = (sure["fault"], sure["component"])
            break
        new = [c for c in made.last["checks"] if (c["test"], c["component"]) not in done]
        if not new:
            break
        check = new[0]
        done.add((check["test"], check["component"]))
        body = _Reading(world, check, made.notes).body(rng, hot=hot)
        reply = door.call("POST", f"/tickets/{ticket['id']}/findings", "truck", body)
        if "suspects" not in reply:
            made.notes.append(f"finding refused: {body} -> {str(reply)[:200]}")
            continue
        made.minutes += float(check["minutes"])
        said = body.get("outcome", f"{body.get('value')} {body.get('unit')}")
        made.checks.append(f"{check['test']}@{check['component']}={said}")
        made.last = reply
    return made


class _Reading:
    """One check at one component of the world."""

    def __init__(self, world: World, check: Json, notes: list[str]) -> None:
        plant, self.where = world.plant, str(check["component"])
        name = self.where.split(".")[0]
        self.world, self.check, self.notes = world, check, notes
        self.test = str(check["test"])
        self.home = plant.homes.index(name) if name in plant.homes else None
        self.loop = plant.loops.index(name) if name in plant.loops else None
        self.near = [b for b in world.breaks if self._concerns(b)]
        self.faults = {b.fault for b in self.near}

    def body(self, rng: Generator, *, hot: bool) -> Json:
        """The finding in the contract's shape; thermostats call unless the trouble is heat."""
        body: dict[str, Any] = {"test": self.test, "component": self.where}
        if not self.check.get("unit"):
            return body | {"outcome": self._seen(self.check["outcomes"])}
        calling = (not hot) if self.check.get("needs_call_state") else None
        value, unit = self._metered(calling=calling is not False), self.check["unit"]
        if self.test == "gauge_tp" and self.faults & set(_LOW_PRESSURE):
            value, unit = 4.0, "psi"
        if value is None:
            self.notes.append(f"no number known for {self.test} in {unit}")
            value = 0.0
        body |= {"value": round(value * float(rng.uniform(0.97, 1.03)), 2), "unit": unit}
        return body | ({} if calling is None else {"calling": calling})

    def _concerns(self, b: Break) -> bool:
        """Whether a reading taken there could show this break itself."""
        if self.home is not None:
            return b.place == "home" and b.index == self.home
        name = self.where.split(".")[0]
        return any(name == component.split(".")[0] for component in b.components)

    @property
    def _live(self) -> bool:
        """Whether the parts here have their 24 V."""
        plant = self.world.plant
        if self.home is not None:
            return self.world.power(plant.transformer[self.home])
        return self.loop is None or self.world.power(plant.relay_transformer[self.loop])

    @property
    def _flow(self) -> float:
        """Share of its flow that a loop's pump still moves while called."""
        if self.faults & _DEAD_PUMP or not self._live:
            return 0.0
        shares = [float(b.does.get("pump", 1.0)) for b in self.near]
        shares += [float(b.does.get("all_pumps", 1.0)) for b in self.world.breaks]
        return min(shares, default=1.0)

    def _metered(self, *, calling: bool) -> float | None:
        for b in self.near:
            if self.test in b.reads:
                return float(b.reads[self.test])
        if self.home is not None:
            return self._metered_at_home(calling=calling)
        relay_dead = "relay_coil_dead" in self.faults or not self._live
        no_volts = relay_dead or not calling or "breaker_tripped_loop" in self.faults
        plant = self.world.plant
        silent = plant.transformers and not any(map(self.world.power, plant.relay_transformer))
        figures = {
            "gauge_tp": self.world.water,
            "loop_dt": self._drop(),
            "pump_volts": 0.0 if no_volts else 120.0,
            "pump_amps": 0.0 if relay_dead or self.faults & _DEAD_PUMP else 0.8,
            "coil_volts": 26.0 if self._live and calling else 0.0,
            "pump_contact": 120.0 if relay_dead or not calling else 0.2,
            "iso_contact": 24.0 if relay_dead else 0.1,
            "demand_pair": 24.0 if silent or not calling else 0.2,
        }
        return figures.get(self.test, _HEALTHY.get(self.test))

    def _metered_at_home(self, *, calling: bool) -> float | None:
        call = next((b.does["call"] == "on" for b in self.near if "call" in b.does), calling)
        figures = {
            "motor_volts": 26.0 if self._live and call else 0.2,
            "stat_volts": 26.0 if self._live and not call else 0.2,
            "stroke_time": _HEALTHY["stroke_time"] if self._live else _NEVER_S,
        }
        return figures.get(self.test, _HEALTHY.get(self.test))

    def _drop(self) -> float:
        if self.world.water < _COLD_WATER_F:
            return 3.0
        return 70.0 if self._flow < 0.1 else 38.0 if self._flow < 0.6 else 19.0

    def _seen(self, outcomes: Sequence[str]) -> str:
        for b in self.near:
            if words := b.seen.get(self.test):
                found = _closest(words, outcomes)
                if found is None:
                    self.notes.append(f"no outcome of {self.test} {outcomes} for {b.fault}")
                return found or outcomes[0]
        if self.home is not None:
            wanted = self._seen_at_home(self.home)
        elif self.test == "pump_feel" and (self.faults & _DEAD_PUMP or not self._live):
            wanted = "silent_cold"
        elif self.test == "pipe_temps" and self._flow < 0.1:
            wanted = "both_cold"
        else:
            wanted = ""
        return wanted if wanted in outcomes else outcomes[0]

    def _seen_at_home(self, home: int) -> str:
        metal = float(self.world.metal[home])
        if self.test == "emitter_temps":
            return "" if metal > 120 else "lukewarm" if metal > 92 else "inlet_cold"
        if self.test == "pipe_temps" and self.world.water < 100:
            return "both_cold"
        if self.test == "pipe_temps":
            flows, calls = self.world.flow[home] > 0.1, self.world.calling[home]
            deaf = any(b.does.get("call") == "off" for b in self.near)
            return (
                "outlet_cold" if deaf or (calls and not flows) else _HOT[bool(flows and not calls)]
            )
        return "nothing_moves" if self.test.startswith("jumper") and not self._live else ""


def _closest(words: str, outcomes: Sequence[str]) -> str | None:
    """The outcome word that shares most with what was seen."""
    wanted = set(words.replace("_", " ").split())
    scored = [(len(wanted & set(o.split("_"))) + 3 * (o in words.split()), o) for o in outcomes]
    shared, best = max(scored)
    return best if shared else None
