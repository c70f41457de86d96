"""What can be wrong with a loop: with its pump and relay, its pipes, one riser, one place of a run.

Theory of operation
-------------------
What stops the water of a loop is felt by all its homes; where the loop has risers, part of it sits in
one of them. Where the water passes one home after the other, what stops it at one home is felt there
and by all that follow; and when little of it flows, the first homes take the heat: a row says what
share of the loop's heat is left, the flow that carries this share gives what each home gets of it. On a
direct return the far homes have least to lose, and where nothing balances them a row says what is left
at the far end.

A home with a pump of its own has what sits at a pump to itself: check valve and relay. Of its loop it
shares the pipes, the pump that the loop may have before it, and what the relays of the panel have in
common.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from rules.faults.candidate import Candidate, Known, leftover, made
from rules.faults.catalogue import faults, faults_on_risers
from rules.faults.fitting import fits, homes_fit
from rules.faults.rows import Fault
from rules.heat.columns import COLUMN, Rows
from rules.heat.distribution import series_flow, series_heat, starved_branches, weak_branches
from rules.model import ApartmentId, ComponentId
from rules.plant import Loop, Plant, Run

__all__ = ["is_at_own_pump", "of_loop", "of_risers", "of_run", "stops_what_follows"]

# Causes no row describes, per 100 loop-years: honest leftovers (common practice, no source).
_ELSE_PER_100_YEARS = 1.0


def of_loop(plant: Plant, loop: Loop, known: Known) -> list[Candidate]:
    """What can be wrong with the whole of a loop."""
    homes = frozenset(a.id for a in plant.apartments if a.loop == loop.id)
    if not homes:
        return []
    places: dict[str, tuple[ComponentId, date | None]] = {"loop": (ComponentId(loop.id), None)}
    if loop.circulator is not None:
        places["circulator"] = (loop.circulator.id, loop.circulator.installed)
    if loop.relay is not None:
        places["relay"] = (loop.relay.id, loop.relay.installed)
    on_its_pump = frozenset(h for h in homes if plant.apartment(h).circulator is None)
    climbs = any(riser.loop == loop.id for riser in plant.risers)
    run = next((run for run in plant.runs if run.loop == loop.id), None)
    found = []
    for fault in faults().values():
        if fault.far_end and (len(homes) == 1 or (run is not None and run.in_series)):
            continue  # one home, or one pipe through all of them, has no branches to balance
        reached = on_its_pump if is_at_own_pump(fault) else homes
        if fault.at in places and homes_fit(fault, plant, reached):
            component, installed = places[fault.at]
            share = _share(fault, climbs=climbs, has_panel=on_its_pump < homes)
            candidate = made(fault, component, reached, known, installed=installed, share=share)
            found.append(candidate)
    found.append(leftover(ComponentId(loop.id), homes, _ELSE_PER_100_YEARS, {"flow": 0.2}))
    return found if run is None else [_in_order(candidate, run) for candidate in found]


def _share(fault: Fault, *, climbs: bool, has_panel: bool) -> float:
    """What falls on a loop of a row's rate, some of which may fall on its risers."""
    if climbs and fault.on_risers is not None:
        return 1 - fault.on_risers.share
    return 1 / fault.of_panel if has_panel and fault.of_panel is not None else 1.0


def of_risers(plant: Plant, loop: Loop, known: Known) -> list[Candidate]:
    """What can be wrong with each riser of a loop.

    The share of a loop's rate that falls on its risers is spread over them evenly; a row of a riser's
    own states the rate of each.
    """
    risers = [riser for riser in plant.risers if riser.loop == loop.id]
    found: list[Candidate] = []
    for riser in risers:
        homes = frozenset(riser.homes)
        for fault in faults_on_risers().values():
            if homes_fit(fault, plant, homes):
                on_loop = faults()[fault.id].on_risers
                share = 1.0 if on_loop is None else on_loop.share / len(risers)
                found.append(made(fault, riser.id, homes, known, share=share))
    return found


def of_run(plant: Plant, run: Run, known: Known) -> list[Candidate]:
    """What stops the water at one home of a series run, and so at all that follow."""
    return [
        made(fault, ComponentId(home), frozenset(run.after(home)), known)
        for home in run.homes[:-1]
        for fault in faults().values()
        if stops_what_follows(fault) and fits(fault, plant, plant.apartment(home))
    ]


def is_at_own_pump(fault: Fault) -> bool:
    """Whether a fault of a loop is one home's own where that home has a pump to itself."""
    return fault.beside_pump or (fault.at == "relay" and fault.of_panel is None)


def stops_what_follows(fault: Fault) -> bool:
    """Whether a fault in one home's pipes keeps the water from whoever comes after it in series."""
    return fault.at == "apartment" and fault.change.path < 1


def _in_order(candidate: Candidate, run: Run) -> Candidate:
    """The same with what each home of a run gets of the little that flows."""
    heat = float(candidate.chain[COLUMN["flow"]])
    if not 0 < heat < 1:
        return candidate
    places = len(run.homes)
    if run.in_series:
        flow = series_flow(heat)
        shares = tuple(series_heat(flow, place, places) for place in range(places))
    elif candidate.row is not None and candidate.row.far_end:
        shares = starved_branches(places, heat)
    else:
        shares = weak_branches(places, heat)
    by_home: Mapping[ApartmentId, Rows] = {
        home: _with_flow(candidate.chain, share)
        for home, share in zip(run.homes, shares, strict=True)
    }
    return replace(candidate, by_home=by_home)


def _with_flow(chain: Rows, flow: float) -> Rows:
    changed = chain.copy()
    changed[COLUMN["flow"]] = flow
    changed.setflags(write=False)
    return changed
