"""Who else calls for heat: the homes of a building are satisfied together, and in need together.

Theory of operation
-------------------
Outdoor temperature swings about the mean of the day, the sun comes in and people are at home at the
same hours, for all homes alike. Within such a spell homes call independently of each other, each as
often as it needs; over the day they do not. On a mild day nobody calls for hours while it is warm, and
somebody nearly always does while it is not; on a design day spells make no difference.

What others hide is felt in spells in which they do not call. Until then it waits unnoticed, so it is
there for longer and not the rarer for being hidden; whoever writes of it, one home or several, writes
from such a spell. The chance that people write grows with about the square of how far a room falls,
and so each spell counts. The home that is cold in it has little of what warms the others: the lowest,
outermost or shaded one, or one that likes it warmer; its own balance of heat is that of all hours.

An overloaded transformer is felt the other way round: in spells in which more of its homes call than it
holds, the coldest ones first.

What drifts for days answers to the mean of all spells.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rules.heat.columns import Rows
from rules.heat.control import FULL, ChainKind, Chains, Delivered, Supply
from rules.heat.rooms import Climate, healthy_duty
from rules.plant import Circuit

__all__ = ["SWING_F", "Spell", "crowded_out", "delivered", "others_calling", "spells_at"]

# The warmest quarter of a day lies so many F above its mean, the coldest as many below it: a daily range
# of 18 F, ordinary inland (value from memory of handbook tables of design weather). Sun and people at
# home add to it, walls that lag behind take from it (common practice, no source).
SWING_F = 8.0
_QUARTERS = ((0.25, -SWING_F), (0.5, 0.0), (0.25, SWING_F))
# Below this share of waiting in all spells nobody feels any of it.
_UNFELT = 1e-12


@dataclass(frozen=True, slots=True)
class Spell:
    """Hours at which the homes of a building call alike: how much of a day, and what others do then."""

    chance: float
    others_run: float  # chance that another home of the loop runs the pump
    others_fire: float  # chance that another loop has the boiler running
    crowded: float = 0.0  # chance that more homes call than a transformer holds, if overloaded


def others_calling(duty: float, others: int) -> float:
    """Chance that at least one of ``others`` homes calls, each with the given duty.

    Reproduces the shape of the trade's experience: rarely in mild weather, nearly always in the cold.
    """
    return 1 - (1 - min(max(duty, 0.0), 1.0)) ** others


def crowded_out(duty: float, circuit: Circuit) -> float:
    """Chance that a call comes while an overloaded transformer holds as many others as it can.

    Those of its other homes that call at once are a binomial number. Where nobody knows how many it
    holds, any number from one to all but one of them is as likely: the mean over these is the duty.
    """
    others = circuit.homes - 1
    if others < 1:
        return 0.0
    if circuit.holds is None:
        return duty
    return sum(
        math.comb(others, call) * duty**call * (1 - duty) ** (others - call)
        for call in range(circuit.holds, others + 1)
    )


def spells_at(
    climate: Climate, on_loop: int, elsewhere: int, circuit: Circuit | None = None
) -> tuple[Spell, ...]:
    """The spells of a day at this mean outdoor temperature, for one home.

    Args:
        climate: weather and building.
        on_loop: how many other homes there are on its loop.
        elsewhere: how many there are on the other loops of its heat source.
        circuit: of the transformer that feeds it, if one does.
    """
    found: dict[tuple[float, float, float], float] = {}
    for chance, gain_f in _QUARTERS:
        duty = healthy_duty(climate, gain_f=gain_f)
        crowded = 0.0 if circuit is None else crowded_out(duty, circuit)
        company = others_calling(duty, on_loop), others_calling(duty, elsewhere), crowded
        found[company] = found.get(company, 0.0) + chance
    return tuple(Spell(chance, *company) for company, chance in found.items())


def delivered(
    rows: Rows, kind: ChainKind, spells: tuple[Spell, ...], supply: Supply = FULL
) -> Delivered:
    """Heat delivered by chains in the given states over all spells, and as it is felt.

    Args:
        rows: states, columns last.
        kind: which steps the chains have.
        spells: of the day.
        supply: what the weather lets the source send out.
    """
    chains = Chains(rows, kind, supply)
    among = [chains.among(s.others_run, s.others_fire, s.crowded) for s in spells]
    if len(spells) == 1:
        return among[0]
    chances = [spell.chance for spell in spells]
    calling = _summed(chances, [given.calling for given in among])
    idle = _summed(chances, [given.idle for given in among])
    counts = [
        chance * np.square(given.missed) for chance, given in zip(chances, among, strict=True)
    ]
    whole = np.maximum(sum(counts), _UNFELT)
    felt = _summed(counts, [given.calling for given in among]) / whole
    return Delivered(
        calling,
        idle,
        missed=_summed(counts, [given.missed for given in among]) / whole,
        felt=np.where(whole > _UNFELT, felt, calling),
    )


def _summed(weights: Sequence[Rows | float], parts: Sequence[Rows | float]) -> Rows:
    """Each part times its weight, all together."""
    return np.asarray(sum(weight * part for weight, part in zip(weights, parts, strict=True)))
