"""Homes beside a cold one: what a fault that starves the neighbours does to a healthy home.

Theory of operation
-------------------
A dead loop cools the healthy floor above: its people feel a cold floor or wall, and on a cold day their
own heating no longer keeps up, because a neighbour that used to lend warmth now takes it. Both grow
with how far the starved homes fall below room temperature, which physics computes for each shared
fault at this weather, and no faster than a home cools: who complains in the first hours is not the
neighbour. Only homes that complain of cold are looked at in this way: that a neighbour says
nothing of a cool floor means next to nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from rules.diagnosis.exact import Floats
from rules.faults.candidates import Candidate
from rules.heat.columns import COLUMN, HEALTHY, Rows, column
from rules.heat.company import Spell, delivered
from rules.heat.control import ChainKind, Supply
from rules.heat.rooms import NEIGHBOUR_PULL, ROOM_F, Climate, settle
from rules.model import ApartmentId
from rules.plant import Plant

__all__ = ["cooled_f", "rows_beside"]

# A neighbour less cold than this is not noticed (common practice, no source).
_LEAST_F = 4.0
# A cool floor or wall is felt like a home so much cooler, per degree that it lies below the room: one of
# six surfaces, and what is felt is half the air (common practice, no source).
_FELT_SHARE = 0.12
# One of about four sides of a home.
_SHARE = 0.25


def cooled_f(
    plant: Plant,
    climate: Climate,
    candidates: Sequence[Candidate],
    spells: Mapping[ApartmentId, tuple[Spell, ...]],
    supply: Mapping[ApartmentId, Supply],
) -> Floats:
    """How far below room temperature each shared fault lets the homes fall that it reaches.

    Args:
        plant: the building.
        climate: weather and building.
        candidates: the shared faults.
        spells: per home how often others run its pump, and its boiler, at the hours of a day.
        supply: per home what its source sends at this weather.
    """
    drops = np.zeros(len(candidates))
    by_home: dict[ApartmentId, list[int]] = {}
    for n, candidate in enumerate(candidates):
        by_home.setdefault(min(candidate.homes), []).append(n)
    for apartment, numbers in by_home.items():
        home = plant.apartment(apartment)
        kind = ChainKind(home.zoning, home.valve.kind if home.valve else None)
        chains = np.stack([candidates[n].chain_of(apartment) for n in numbers])
        share = [len(candidates[n].homes) / len(plant.apartments) for n in numbers]
        course = settle(
            delivered(chains, kind, spells[apartment], supply[apartment]),
            climate,
            set_f=ROOM_F,
            loss=column(chains, "loss"),
            gain_f=column(chains, "gain_f"),
            offset_f=column(chains, "offset_f"),
            neighbours_f=ROOM_F,
            neighbour_share=1 - np.array(share),
        )
        there = [candidates[n].is_there_at(climate.outdoor_f) for n in numbers]
        drops[numbers] = np.where(there, np.maximum(ROOM_F - course.final_f, 0.0), 0.0)
    return drops


def rows_beside(
    plant: Plant, candidates: Sequence[Candidate], drops_f: Floats, apartment: ApartmentId
) -> dict[int, Rows]:
    """The chain of a healthy home beside homes that a candidate starves, by number of candidate."""
    near = plant.neighbours(apartment)
    rows: dict[int, Rows] = {}
    for n, candidate in enumerate(candidates):
        if drops_f[n] < _LEAST_F or apartment in candidate.homes or not near & candidate.homes:
            continue
        row = HEALTHY.copy()
        row[COLUMN["offset_f"]] = -_FELT_SHARE * drops_f[n]
        row[COLUMN["gain_f"]] = -NEIGHBOUR_PULL * _SHARE * drops_f[n]
        rows[n] = row
    return rows
