"""What a text says too plainly to be weighed, and what it says it is not about.

Theory of operation
-------------------
What a text says of its kinds has names: the lists of phrases of ``trouble`` that stand, and what numbers
and screen say (``by_rule``). For a few of them what rules find is surer than any weight learned from
strangers' words; each of these lists is right on some ninety-eight in a hundred labelled messages.
"""

from __future__ import annotations

from collections.abc import Mapping
from collections.abc import Set as AbstractSet

from rules.model import Kind

__all__ = ["CERTAIN", "certain_by", "denials_of", "denied_by"]

# What leaves nothing to weigh where rules find it: lists of phrases, and what numbers say (``by_rule``).
CERTAIN: Mapping[str, frozenset[Kind]] = {
    "none_of_both": frozenset({Kind.TOO_COLD, Kind.NO_HOT_WATER}),
    "hot_here_cold_there": frozenset({Kind.TOO_COLD, Kind.TOO_HOT}),
    "heat_lost": frozenset({Kind.TOO_COLD}),
    "heat_instead": frozenset({Kind.TOO_COLD}),
    "water_instead": frozenset({Kind.NO_HOT_WATER}),
    "plain_cold": frozenset({Kind.TOO_COLD}),
    "plain_hot": frozenset({Kind.TOO_HOT}),
    "plain_hot_water": frozenset({Kind.NO_HOT_WATER}),
    "plain_leak": frozenset({Kind.LEAK}),
    "plain_noise": frozenset({Kind.NOISE}),
    "plain_other": frozenset({Kind.OTHER}),
    "warm though off": frozenset({Kind.TOO_HOT}),
    "heat_there_not_here": frozenset({Kind.TOO_COLD}),
    "now one, now the other": frozenset({Kind.TOO_COLD, Kind.TOO_HOT}),
}
# And what is then only told where rules find it: "it's not the heat, it's the hot water".
_RULED_OUT: Mapping[str, frozenset[Kind]] = {
    "not_the_heat": frozenset({Kind.TOO_COLD}),
    "water_instead": frozenset({Kind.TOO_COLD}),
    "not_the_hot_water": frozenset({Kind.NO_HOT_WATER}),
    "heat_instead": frozenset({Kind.NO_HOT_WATER}),
    "water_fine": frozenset({Kind.NO_HOT_WATER}),
    "heat_fine": frozenset({Kind.TOO_COLD}),
    "heat_aside": frozenset({Kind.TOO_COLD}),
    "heat_there_not_here": frozenset({Kind.TOO_HOT}),
    "reads hot": frozenset({Kind.TOO_COLD}),
    "reads cold": frozenset({Kind.TOO_HOT}),
    "reads as set": frozenset({Kind.TOO_COLD, Kind.TOO_HOT}),
    "blank and off": frozenset({Kind.OTHER}),
}
# "The heat works but not enough" denies nothing; these do.
_DENIALS = ("not_the_heat", "not_the_hot_water", "heat_instead", "water_instead")


def denied_by(said: AbstractSet[str]) -> frozenset[Kind]:
    """The kinds that a text says it is not about; ``said`` is what it says, in phrases and numbers."""
    return frozenset(kind for name, kinds in _RULED_OUT.items() if name in said for kind in kinds)


def certain_by(said: AbstractSet[str]) -> frozenset[Kind]:
    """The kinds that a text tells so plainly that nothing is to be weighed, if rules find them."""
    return frozenset(kind for name, kinds in CERTAIN.items() if name in said for kind in kinds)


def denials_of(kind: str) -> list[str]:
    """The lists of phrases that say it is not about a kind, whatever else in them sounds like it."""
    return [name for name in _DENIALS if kind in _RULED_OUT[name]]
