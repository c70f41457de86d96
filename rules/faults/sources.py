"""What can be wrong with heat sources: with one that stands alone, one of several, all together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from rules.faults.candidate import Candidate, Known, leftover, made
from rules.faults.catalogue import faults
from rules.faults.fitting import homes_fit, source_fits
from rules.faults.rows import Change
from rules.heat.columns import COLUMN, Rows
from rules.model import ApartmentId, ComponentId
from rules.plant import Cascade, HeatSource, Plant

__all__ = ["COLD_FROM_A_TANK", "at_the_taps", "of_cascade", "of_source"]

# Causes no row describes, per 100 source-years: honest leftovers (common practice, no source).
_ELSE_PER_100_YEARS = 2.0
_TAPS = [COLUMN[name] for name in ("tap_cold", "tap_lukewarm", "tap_too_hot")]
# A tank still gives hot water for hours when its boiler has gone out, then lukewarm and cold: rooms are
# cold before taps are. This share of homes finds it cold when asked (common practice, no source).
_TANKS = frozenset({"indirect", "indirect_priority"})
COLD_FROM_A_TANK = 0.5
_HEATS_TAPS = frozenset({"indirect", "indirect_priority", "tankless_coil"})


def of_source(plant: Plant, source: HeatSource, known: Known) -> list[Candidate]:
    """What can be wrong with a heat source; of a boiler in a cascade, with this one alone."""
    cascade = plant.cascade_of(source.id)
    homes = _heated_by(plant, source.id if cascade is None else cascade.id)
    if not homes:
        return []
    found = [
        at_the_taps(
            _at_the_top(
                plant,
                made(f, source.id, homes, known, installed=source.installed, variant=source.kind),
            ),
            [source],
        )
        for f in faults().values()
        if f.at == "source"
        and not (cascade is not None and f.shared_in_cascade)
        and source_fits(f, source)
        and homes_fit(f, plant, homes)
    ]
    found.append(_weak(source.id, homes))
    if cascade is None:
        return found
    share = cascade.share(source.id)
    return [_one_of_several(candidate, share) for candidate in found]


def of_cascade(plant: Plant, cascade: Cascade, known: Known) -> list[Candidate]:
    """What can be wrong with all that the boilers of a cascade have in common."""
    homes = _heated_by(plant, cascade.id)
    if not homes:
        return []
    found: list[Candidate] = []
    for fault in faults().values():
        fitting = [source for source in cascade.sources if source_fits(fault, source)]
        if fault.shared_in_cascade and fitting and homes_fit(fault, plant, homes):
            candidate = _at_the_top(plant, made(fault, cascade.id, homes, known))
            found.append(at_the_taps(candidate, fitting[:1]))
    return [*found, _weak(cascade.id, homes)]


def _heated_by(plant: Plant, head: ComponentId) -> frozenset[ApartmentId]:
    return frozenset(a.id for a in plant.apartments if plant.head_of(a.loop) == head)


def _weak(component: ComponentId, homes: frozenset[ApartmentId]) -> Candidate:
    return leftover(component, homes, _ELSE_PER_100_YEARS, {"capacity": 0.3})


def _one_of_several(candidate: Candidate, share: float) -> Candidate:
    """The same where other boilers go on: its share of the output is lost, and the taps stay hot.

    Too hot or too cold water of one boiler is mixed with that of the others by their shares.
    """
    chain = candidate.chain.copy()
    gives = chain[COLUMN["capacity"]] * (1 - chain[COLUMN["demand_open"]])
    chain[COLUMN["output_lost"]] = share * (1 - gives * (1 - chain[COLUMN["output_lost"]]))
    chain[COLUMN["capacity"]] = 1.0
    chain[COLUMN["water_shift_f"]] *= share
    chain[[COLUMN["demand_open"], *_TAPS]] = 0.0
    return _with_chain(candidate, chain)


def _at_the_top(plant: Plant, candidate: Candidate) -> Candidate:
    """The same where it is felt: water that stands too low leaves the highest emitters first.

    A series run that climbs there stops as a whole.
    """
    if candidate.row is None or not candidate.row.top_floors:
        return candidate
    highest = {home for home in candidate.homes if plant.is_highest(home)}
    for run in plant.runs:
        if run.in_series and not highest.isdisjoint(run.homes):
            highest.update(run.homes)
    return replace(candidate, homes=frozenset(highest))


def at_the_taps(candidate: Candidate, sources: Iterable[HeatSource]) -> Candidate:
    """What it does to hot water: nothing where none of these heats it; tanks give it for a while."""
    if candidate.row is not None and candidate.row.change == Change(
        hot_water=candidate.row.change.hot_water
    ):
        return candidate  # the row is about hot water itself, whoever heats it
    heating = [s.hot_water for s in sources if s.hot_water in _HEATS_TAPS]
    chain = candidate.chain.copy()
    if not heating:
        chain[_TAPS] = 0.0
    elif _TANKS.issuperset(heating) and chain[COLUMN["tap_cold"]]:
        chain[[COLUMN["tap_cold"], COLUMN["tap_lukewarm"]]] = COLD_FROM_A_TANK, 1.0
        chain[COLUMN["tap_late"]] = 1.0
    return _with_chain(candidate, chain)


def _with_chain(candidate: Candidate, chain: Rows) -> Candidate:
    chain.setflags(write=False)
    return replace(candidate, chain=chain)
