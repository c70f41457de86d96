"""One fault at one component: how likely, whom it reaches, what it does to the chain of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from rules.data import table
from rules.faults.effects import encoded
from rules.faults.lives import LearnedLives
from rules.faults.priors import WINDOW_DAYS, prior
from rules.faults.rows import Fault
from rules.heat.columns import COLUMN, Rows, row
from rules.model import ApartmentId, ComponentId, FaultId

__all__ = ["SOMETHING_ELSE", "Candidate", "Known", "afar", "heard_afar", "leftover", "made"]

SOMETHING_ELSE = FaultId("something_else")
_NOISE = [COLUMN[name] for name in COLUMN if name.startswith("noise_")]
# A leak at a shared part is seldom in a home: of a pipe that passes forty homes two see it, and what
# drips in the boiler room is seen by whoever goes there (common practice, no source).
_LEAK_SEEN = 0.05
_LEAK_SEEN_IN_BOILER_ROOM = 0.005
_IN_BOILER_ROOM = frozenset({"source", "circulator"})
_OTHER = 0.3
# Gas, fumes and smoke from the boiler room are smelt in some homes, not in all.
_SMELT = 0.25
_DANGER = [COLUMN[n] for n in ("gas_noticed", "co_noticed", "smoke_noticed", "sparks_noticed")]


@dataclass(frozen=True, eq=False, slots=True)
class Candidate:
    """One fault at one component: its chance, its state of the chain, the homes it reaches.

    ``by_home`` holds the state of the chain of homes that feel it otherwise than ``chain`` says,
    because they lie nearer to the pump or farther from it.
    """

    fault: FaultId
    component: ComponentId
    homes: frozenset[ApartmentId]
    prior: float
    chain: Rows
    row: Fault | None  # None for something else
    by_home: Mapping[ApartmentId, Rows] = field(default_factory=dict)

    def is_there_at(self, outdoor_f: float) -> bool:
        """Whether such weather lets it be there: nothing freezes in spring."""
        within = None if self.row is None else self.row.outdoor_f
        return within is None or within[0] <= outdoor_f <= within[1]

    def chain_of(self, home: ApartmentId) -> Rows:
        """The state of the chain of one home that it reaches."""
        return self.by_home.get(home, self.chain)


@dataclass(frozen=True, slots=True)
class Known:
    """What chances depend on beside the plant: the day, and what one's own parts have taught."""

    on: date
    lives: LearnedLives


def made(
    fault: Fault,
    component: ComponentId,
    homes: frozenset[ApartmentId],
    known: Known,
    *,
    installed: date | None = None,
    variant: str | None = None,
    share: float = 1.0,
) -> Candidate:
    """A catalogue row at a component.

    Args:
        fault: the row.
        component: where it is.
        homes: whom it reaches.
        known: the day, and lives of parts.
        installed: date of the component.
        variant: kind of valve, thermostat or heat source.
        share: part of the row's chance that falls on this component.
    """
    life = known.lives.ratio(fault.at, variant)
    chance = prior(fault, installed, known.on, life, variant) * share
    chance = known.lives.once_more(component, fault.id, chance)
    return Candidate(fault.id, component, homes, chance, encoded(fault.id, fault.at), fault)


def afar(candidate: Candidate) -> Candidate:
    """The same where the fault is out of the home, in the boiler room."""
    chain = heard_afar(candidate, candidate.chain)
    chain.setflags(write=False)
    return replace(candidate, chain=chain)


def heard_afar(candidate: Candidate, chain: Rows) -> Rows:
    """A chain as a home knows it that is away from the fault: its noise and water are fainter."""
    row = chain.copy()
    carries = table("reporting")["noise_carries"]
    heard = "loop" if candidate.row is None else candidate.row.reports.heard_by
    row[_NOISE] *= carries["loop" if heard == "apartment" else heard]
    in_boiler_room = candidate.row is not None and candidate.row.at in _IN_BOILER_ROOM
    row[COLUMN["leak_seen"]] *= _LEAK_SEEN_IN_BOILER_ROOM if in_boiler_room else _LEAK_SEEN
    row[COLUMN["other_noticed"]] *= _OTHER
    row[_DANGER] *= _SMELT
    return row


def leftover(
    component: ComponentId,
    homes: frozenset[ApartmentId],
    per_100_years: float,
    columns: dict[str, float],
) -> Candidate:
    """Something that no row describes, so often and with this effect."""
    chain = row(columns)
    chain.setflags(write=False)
    chance = per_100_years / 100 * WINDOW_DAYS / 365.25
    return Candidate(SOMETHING_ELSE, component, homes, chance, chain, None)
