"""Whether what was found can be at the component that was named, and if not, where it can."""

from __future__ import annotations

from collections.abc import Sequence

from rules.faults.standing import can_stand_at
from rules.faults.telling import rows_told_as
from rules.model import ComponentId
from rules.plant import Plant
from service.errors import PointedError

__all__ = ["MOST_PLACES", "article", "either", "wrong_place"]

MOST_PLACES = 3  # named to whoever named one that cannot be


def wrong_place(plant: Plant, name: str, fault: str | None) -> list[PointedError]:
    """What is wrong with a component named as the place of a fault, or of nothing found."""
    component = plant.components.get(ComponentId(name))
    if component is None:
        return [PointedError("/component", f"the building has no component {name!r}")]
    rows = () if fault is None else rows_told_as(fault)
    if not rows or any(can_stand_at(plant, row, component) for row in rows):
        return []
    row = rows[0]
    detail = f"{fault} is a fault of {article(row.at)}, and {name} is {article(component.kind)}"
    places = [c for c in plant.components.values() if c.kind.value == row.at]
    places.sort(key=lambda c: (c.apartment != component.apartment, c.loop != component.loop))
    named = either([c.id for c in places[:MOST_PLACES]])
    detail += f": name {named}" if named else ", and this building has none"
    return [PointedError("/component", detail)]


def article(kind: str) -> str:
    """The kind of a component with its article."""
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"


def either(words: Sequence[str]) -> str:
    """Words of which one is meant; empty for none."""
    *first, last = words or ("",)
    return f"{', '.join(first)} or {last}" if first else last
