"""Which home an unknown number means when it writes "Quarry Street, apartment 4b"."""

from __future__ import annotations

import re

from rapidfuzz import fuzz
from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import Building

__all__ = ["find_home", "same_apartment"]

# Below this the words are about something else; two buildings this close are not told apart.
GOOD_ENOUGH = 80.0
CLEARLY_BETTER = 5.0


def find_home(session: Session, words: str, apartment: str | None) -> tuple[str, str] | None:
    """The one home that fits, or None: asking again is better than a ticket for the wrong door."""
    if apartment is None:
        return None
    scored = sorted(
        ((_likeness(words, document), building) for building, document in _buildings(session)),
        key=lambda pair: (-pair[0], pair[1]),
    )
    fitting = [(score, b) for score, b in scored if score >= GOOD_ENOUGH]
    if not fitting and len(scored) == 1 and not words.strip():
        fitting = scored
    if not fitting or (len(fitting) > 1 and fitting[0][0] - fitting[1][0] < CLEARLY_BETTER):
        return None
    building = fitting[0][1]
    found = next((a for a in _apartments(session, building) if same_apartment(a, apartment)), None)
    return (building, found) if found is not None else None


def same_apartment(one: str, other: str) -> bool:
    """Whether two ways of writing an apartment mean the same: "4-b", "#4B" and "4B" do."""
    return _plain(one) == _plain(other)


def _plain(apartment: str) -> str:
    return re.sub(r"[^0-9A-Z]", "", apartment.upper()).lstrip("0")


def _likeness(words: str, document: dict[str, object]) -> float:
    said = words.lower()
    names = (str(document["name"]).lower(), str(document["building"]).replace("-", " "))
    return max(fuzz.token_set_ratio(said, name) for name in names) if said.strip() else 0.0


def _buildings(session: Session) -> list[tuple[str, dict[str, object]]]:
    rows = session.execute(select(Building.id, Building.document).order_by(Building.id))
    return [(building, document) for building, document in rows]


def _apartments(session: Session, building: str) -> list[str]:
    document = session.scalars(select(Building.document).where(Building.id == building)).one()
    return [str(a["id"]) for a in document["apartments"]]
