"""Which home an unknown number means when it writes "Quarry Street, apartment 4b"."""

from __future__ import annotations

import re
from collections.abc import Collection

from sqlalchemy import select
from sqlalchemy.orm import Session

from rules.plant.address import building_meant
from rules.plant.files.doors import as_written
from service.errors import InvalidError, PointedError
from service.store.tables import Building

__all__ = ["DOORS", "building_named", "door_of", "home_on_file", "names_of", "same_apartment"]

# Doors as people write them in the middle of a text: "2A", "2-a", "a2".
DOORS = re.compile(r"\b(?:\d{1,4}-?[a-z]|[a-z]-?\d{1,4})\b", re.IGNORECASE)
MOST_NAMED = 12  # homes of a building, named to whoever wrote one that is not there


def building_named(session: Session, words: str) -> str | None:
    """The one building that fits, or None; where there is one alone, no words at all mean it."""
    named = _names(session)
    building = building_meant(words, named)
    if building is None and len(named) == 1 and not words.strip():
        building = next(iter(named))
    return building


def door_of(session: Session, building: str, apartment: str) -> str | None:
    """The apartment of a building that somebody's way of writing it means, or None."""
    return next((a for a in _apartments(session, building) if same_apartment(a, apartment)), None)


def home_on_file(session: Session, building: str, apartment: str) -> tuple[str, str]:
    """The home that a person has chosen: a building by its id, an apartment as they write it.

    Raises:
        InvalidError: there is no such building, or no such apartment in it.
    """
    document = session.scalars(select(Building.document).where(Building.id == building)).first()
    if document is None:
        wrong = PointedError("/building", "is not chosen, or not on file")
        raise InvalidError("the home is refused", (wrong,))
    homes = [str(a["id"]) for a in document["apartments"]]
    found = next((home for home in homes if same_apartment(home, apartment)), None)
    if found is None:
        more = " and more" if len(homes) > MOST_NAMED else ""
        named = f"is not in this building, which has {', '.join(homes[:MOST_NAMED])}{more}"
        raise InvalidError("the home is refused", (PointedError("/apartment", named),))
    return building, found


def same_apartment(one: str, other: str) -> bool:
    """Whether two ways of writing an apartment mean the same: "4-b", "#4B" and "4B" do."""
    return as_written(one) == as_written(other)


def names_of(session: Session, homes: Collection[tuple[str, str]]) -> dict[str, str]:
    """What the buildings of some homes are called, by id; empty where all are in one building."""
    buildings = {building for building, _ in homes}
    if len(buildings) < 2:
        return {}
    return {b: name for b, name in _names(session).items() if b in buildings}


def _names(session: Session) -> dict[str, str]:
    """What each building is called, by its id."""
    named = select(Building.id, Building.document["name"].as_string()).order_by(Building.id)
    return {building: str(name) for building, name in session.execute(named)}


def _apartments(session: Session, building: str) -> list[str]:
    document = session.scalars(select(Building.document).where(Building.id == building)).one()
    return [str(a["id"]) for a in document["apartments"]]
