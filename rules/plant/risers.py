"""Risers: the uprights of a loop, each feeding the homes of one line.

Theory of operation
-------------------
A loop that climbs a house does so by uprights, and homes above each other, which bear the same letter,
hang on the same one: a valve left shut, air or a blockage in it is felt by all of them and by nobody
else. A building file may say so (``piping: risers``), or say that the loop runs along the floors
(``floors``) or through home after home (``series``). Where it says nothing, a loop is taken to have
risers if it climbs three floors or more: over two it is as likely run under one ceiling (common
practice, no source). A line of one home is that home's own pipe, a loop of one line is its riser, and
where every home has its own pump there is nothing to share; neither is a riser here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rules.model import ApartmentId, ComponentId
from rules.plant.components import Apartment, Loop

if TYPE_CHECKING:
    from rules.plant.building import Plant

__all__ = ["LEAST_FLOORS", "Riser", "riser_id", "risers_of"]

# What a loop climbs before it is taken to have risers though its file says nothing.
LEAST_FLOORS = 3


@dataclass(frozen=True, slots=True)
class Riser:
    """The upright of one line on one loop, and the homes that hang on it, lowest first."""

    id: ComponentId
    loop: ComponentId
    line: str
    homes: tuple[ApartmentId, ...]


def riser_id(loop: str, line: str) -> ComponentId:
    """What a riser is called."""
    return ComponentId(f"{loop}.riser-{line}")


def risers_of(plant: Plant) -> tuple[Riser, ...]:
    """All risers of a plant, loop by loop, lines in the order of the file."""
    return tuple(riser for loop in plant.loops for riser in _of_loop(loop, plant.apartments))


def _of_loop(loop: Loop, apartments: Iterable[Apartment]) -> Iterable[Riser]:
    homes = [a for a in apartments if a.loop == loop.id]
    lines: dict[str, list[Apartment]] = {}
    for home in homes:
        lines.setdefault(home.line, []).append(home)
    if len(lines) < 2 or not _has_risers(loop, homes):
        return
    for line, above in lines.items():
        if len(above) > 1:
            names = tuple(a.id for a in sorted(above, key=lambda a: a.floor))
            yield Riser(riser_id(loop.id, line), ComponentId(loop.id), line, names)


def _has_risers(loop: Loop, homes: Sequence[Apartment]) -> bool:
    if loop.piping is not None:
        return loop.piping == "risers"
    if any(home.zoning == "zone_circulator" for home in homes):
        return False
    return len({home.floor for home in homes}) >= LEAST_FLOORS
