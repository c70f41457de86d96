"""Others who judge the same episodes: two simple rules, and the simulator's own model as the ceiling."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rules.model import ApartmentId, ComponentId, Kind

from .answers import chance_of
from .breakdowns import Breakdown, Case, candidates
from .drawing import Drawn
from .episodes import Asked
from .people import CHANNELS, CHATTER_A_DAY, WRONG_KIND, hazards
from .technician import served
from .weather import STEPS_PER_HOUR
from .world import World, simulate

__all__ = ["Ticket", "best_possible", "each_alone", "kinds_of", "three_on_a_loop"]

Floats = NDArray[np.float64]
_TOP = 12
_SIX_HOURS = 6 * STEPS_PER_HOUR
_SEVERITIES = 2
_PEOPLE_SHARE = 0.2  # of the episodes with one cause, as they are drawn
_OWN_IN_FIRST = 3  # a home's own fault cannot explain more complaints than these


@dataclass(frozen=True)
class Ticket:
    """What somebody makes of some complaints (by number): suspects, the likeliest first."""

    complaints: tuple[int, ...]
    suspects: tuple[tuple[str, str, float], ...]  # fault, component, chance


def kinds_of(row: Breakdown, *, taps_share_boiler: bool) -> frozenset[Kind]:
    """What people would complain of, by the words of a row; for the simple rivals."""
    acts, kinds = row.acts, set()
    cold = {
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
    }
    cold |= {"overload", "fire", "capacity", "off_hours", "calm_above", "top", "set_by", "top_set"}
    if cold & set(acts) or acts.get("stuck") == "shut" or acts.get("stat") == "off":
        kinds.add(Kind.TOO_COLD)
    if {"sticky", "leak", "gain", "ghost"} & set(acts) or "open" in (acts.get("stuck"), None):
        kinds.add(Kind.TOO_HOT)
    if acts.get("stat") == "on":
        kinds.add(Kind.TOO_HOT)
    for name, sign in (("shown", 1), ("water", -1), ("wish", 1)):
        if name in acts:
            rises = acts[name][0] * sign > 0
            kinds.add(Kind.TOO_COLD if rises else Kind.TOO_HOT)
    if acts.get("switch") in ("open", "erratic") or acts.get("demand") == "open":
        kinds.add(Kind.TOO_COLD)
    if "tap" in acts or ("fire" in acts and taps_share_boiler):
        kinds.add(Kind.NO_HOT_WATER)
    if row.heard:
        kinds.add(Kind.NOISE)
    if row.drips:
        kinds.add(Kind.LEAK)
    return frozenset(kinds)


def each_alone(drawn: Drawn) -> list[Ticket]:
    """Every complaint a ticket of its own; suspects by rate among what fits its kind."""
    able = candidates(drawn.made.plant, drawn.days)
    return [_alone(drawn, able, k) for k in range(len(drawn.complaints))]


def three_on_a_loop(drawn: Drawn) -> list[Ticket]:
    """Three complaints on a loop within six hours mean the loop; all else alone."""
    able = candidates(drawn.made.plant, drawn.days)
    house, said = drawn.house, drawn.complaints
    tickets: list[Ticket] = []
    taken: set[int] = set()
    for loop in range(len(house.loop_names)):
        here = [k for k, c in enumerate(said) if house.loop[c.home] == loop]
        bursts = [
            k
            for k in here
            if sum(abs(said[j].step - said[k].step) <= _SIX_HOURS for j in here) >= 3
        ]
        if bursts:
            taken |= set(here)
            tickets.append(Ticket(tuple(here), _of_loop(drawn, able, loop)))
    return tickets + [_alone(drawn, able, k) for k in range(len(said)) if k not in taken]


def _of_loop(
    drawn: Drawn, able: Sequence[tuple[float, Breakdown, ComponentId, str | None]], loop: int
) -> tuple[tuple[str, str, float], ...]:
    homes = set(np.flatnonzero(drawn.house.loop == loop))
    fits = [
        (w, row.id, component)
        for w, row, component, _ in able
        if row.at in ("circulator", "relay", "loop")
        and homes == set(served(drawn.world, component))
        and Kind.TOO_COLD in kinds_of(row, taps_share_boiler=False)
    ]
    return _ranked(fits)


def _alone(
    drawn: Drawn, able: Sequence[tuple[float, Breakdown, ComponentId, str | None]], number: int
) -> Ticket:
    complaint = drawn.complaints[number]
    indirect = drawn.made.plant.heat_sources[0].hot_water.startswith("indirect")
    fits = [
        (w, row.id, component)
        for w, row, component, _ in able
        if complaint.kinds & kinds_of(row, taps_share_boiler=indirect)
        and complaint.home in served(drawn.world, component)
    ]
    return Ticket((number,), _ranked(fits))


def _ranked(fits: Sequence[tuple[float, str, str]]) -> tuple[tuple[str, str, float], ...]:
    total = sum(w for w, _, _ in fits) or 1.0
    best = sorted(fits, key=lambda f: (-f[0], f[1], f[2]))[:_TOP]
    return tuple((fault, component, w / total) for w, fault, component in best)


def best_possible(drawn: Drawn, asked: Sequence[Asked]) -> list[Ticket] | None:
    """Likelihood by simulation over everything that could be broken, with the true model of people.

    It also knows the hour of onset, the set points and the walls of every home, so it is a ceiling
    that no diagnosis can reach. Only for episodes with one cause; None otherwise.
    """
    if len(drawn.cases) != 1:
        return None
    rng = np.random.default_rng([drawn.seed, 13])
    homes = [c.home for c in drawn.complaints]
    weights, copies = _suspected(rng, drawn, homes)
    world = simulate(drawn.house, drawn.days, [(c,) for c in copies])
    log_chance = np.log(weights) + _told(drawn, world) + _answered(world, asked)
    chance = np.exp(log_chance - log_chance.max())
    by_suspect: dict[tuple[str, str], float] = {}
    for c, case in zip(chance, copies, strict=True):
        key = (case.row.id, case.component)
        by_suspect[key] = by_suspect.get(key, 0.0) + float(c)
    suspects = _ranked([(w, fault, component) for (fault, component), w in by_suspect.items()])
    return [Ticket(tuple(range(len(drawn.complaints))), suspects)]


def _suspected(
    rng: np.random.Generator, drawn: Drawn, homes: Sequence[int]
) -> tuple[Floats, list[Case]]:
    """Every candidate that reaches a complaint, at a few severities, with its prior weight."""
    names = {drawn.house.names[h] for h in homes[:_OWN_IN_FIRST]}
    able = candidates(drawn.made.plant, drawn.days)
    totals = {
        group: sum(w for w, row, _, _ in able if row.group == group)
        for group in ("equipment", "occupant")
    }
    shares = {"equipment": 1 - _PEOPLE_SHARE, "occupant": _PEOPLE_SHARE}
    onset = max(c.step for c in drawn.cases) or drawn.complaints[0].step - 12 * STEPS_PER_HOUR
    weights: list[float] = []
    cases: list[Case] = []
    for weight, row, component, home in able:
        if home is not None and home not in names and not row.spreads:
            continue
        ranged = any(isinstance(v, list) for k, v in row.acts.items() if k != "off_hours")
        draws = _SEVERITIES if ranged else 1
        for _ in range(draws):
            amounts = {
                k: float(rng.uniform(*v)) if isinstance(v, list) and k != "off_hours" else v
                for k, v in row.acts.items()
            }
            step = 0 if row.start == "always" or row.standing else onset
            where = ApartmentId(home) if home else None
            cases.append(Case(row, component, where, amounts, step))
            weights.append(weight / totals[row.group] * shares[row.group] / draws)
    return np.array(weights), cases


def _told(drawn: Drawn, world: World) -> Floats:
    """Log chance of who wrote when about what, and of the silence of the rest."""
    last = {c.home: c.step for c in drawn.complaints}
    total = np.zeros(len(world.copies))
    chatter = CHATTER_A_DAY / 24
    by_home = {c.home: c for c in drawn.complaints}
    start = max(c.step for c in drawn.cases) or drawn.complaints[0].step - 12 * STEPS_PER_HOUR
    for step in range(max(start, 0), drawn.end + 1):
        rate = hazards(world, step)
        for home in np.flatnonzero(drawn.people.reachable):
            if step > last.get(int(home), drawn.end):
                continue
            here = rate[:, home]
            complaint = by_home.get(int(home))
            if complaint is not None and complaint.step == step:
                said = [CHANNELS.index(k) for k in complaint.kinds]
                right = here[:, said].sum(axis=1) + chatter * (Kind.TOO_COLD in complaint.kinds)
                slip = here.sum(axis=1) * (complaint.kinds == {Kind.OTHER})
                total += np.log((1 - WRONG_KIND) * right + WRONG_KIND * slip + 1e-7)
            else:
                total -= here.sum(axis=1) / STEPS_PER_HOUR
    return total


def _answered(world: World, asked: Sequence[Asked]) -> Floats:
    total = np.zeros(len(world.copies))
    for answer in asked:
        total += np.log(chance_of(world, answer.home, answer.topic, answer.step, answer.fact))
    return total
