"""How to get in, as the building file says it."""

from __future__ import annotations

from collections.abc import Iterable

from rules.plant import Plant
from service.store.tables import Complaint

__all__ = ["access_words"]


def access_words(plant: Plant | None, complaints: Iterable[Complaint]) -> tuple[str, ...]:
    """The building first, then each complaining home that has a word of its own."""
    if plant is None:
        return ()
    homes = {c.apartment for c in complaints}
    of_homes = [f"{a.id}: {a.access}" for a in plant.apartments if a.access and a.id in homes]
    return (*([plant.access] if plant.access else []), *of_homes)
