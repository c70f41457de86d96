"""The door of an apartment on the web: a key on a card or in a link, kept as a hash.

A key names an apartment and nothing else. It is made of letters and digits that are not mistaken for
each other, so that it can be typed from a card; twenty of them carry 97 random bits.
"""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select, update
from sqlalchemy.orm import Session

from service.auth.secrets_kept import hashed
from service.errors import ConflictError, InvalidError, NotFoundError, PointedError
from service.store.tables import HomeDoor
from service.usecases.loading.plants import plant_of
from service.usecases.rows.ids import ALPHABET

__all__ = [
    "Card",
    "CardsInUse",
    "Door",
    "cards_in_use",
    "door_of_hash",
    "issue_cards",
    "issue_door",
    "key_hash",
    "open_door",
]

LETTERS = 20
GROUP = 5
LONGEST_KEY = 60


@dataclass(frozen=True, slots=True)
class Door:
    """An apartment that a key opens."""

    building: str
    building_name: str
    apartment: str
    timezone: str

    @property
    def home(self) -> tuple[str, str]:
        """The home as other use cases name it."""
        return self.building, self.apartment


@dataclass(frozen=True, slots=True)
class Card:
    """A freshly made key; this is the only time it can be seen."""

    apartment: str
    key: str


@dataclass(frozen=True, slots=True)
class CardsInUse:
    """A building's homes, each with when its newest card was made."""

    building: str
    building_name: str
    timezone: str
    homes: tuple[tuple[str, datetime | None], ...]


def open_door(session: Session, key: str) -> Door | None:
    """The apartment of a key; None when the key is unknown or was withdrawn."""
    return door_of_hash(session, key_hash(key))


def door_of_hash(session: Session, hashed_key: str) -> Door | None:
    """The same for a key of which only the hash was kept."""
    row = session.scalar(
        select(HomeDoor).where(HomeDoor.key_hash == hashed_key, HomeDoor.revoked_at.is_(None))
    )
    if row is None:
        return None
    plant = plant_of(session, row.building_id)
    if plant is None or all(a.id != row.apartment for a in plant.apartments):
        return None
    return Door(row.building_id, plant.name, row.apartment, plant.timezone)


def issue_door(
    session: Session, now: datetime, building: str, apartment: str, batch: str = ""
) -> str:
    """A new key for an apartment, for a card or a link; earlier ones stay good."""
    letters = "".join(secrets.choice(ALPHABET) for _ in range(LETTERS))
    session.add(
        HomeDoor(
            key_hash=key_hash(letters),
            building_id=building,
            apartment=apartment,
            batch=batch,
            created_at=now,
        )
    )
    session.flush()
    return "-".join(letters[i : i + GROUP] for i in range(0, LETTERS, GROUP))


def issue_cards(
    session: Session,
    now: datetime,
    building: str,
    apartments: Sequence[str],
    *,
    batch: str,
    replace_old: bool,
) -> tuple[Card, ...]:
    """One new card for each of these apartments, or for all when none is named.

    Raises:
        NotFoundError: there is no such building.
        InvalidError: it has no such apartment.
        ConflictError: this printing was done already; its keys cannot be shown again.
    """
    homes = [home for home, _ in cards_in_use(session, building).homes]
    unknown = [a for a in apartments if a not in homes]
    if unknown:
        raise InvalidError("the cards are refused", (PointedError("/apartment", "is unknown"),))
    if session.scalar(select(func.count()).where(HomeDoor.batch == batch)):
        raise ConflictError("these cards were made already and cannot be shown again")
    wanted = list(apartments) or homes
    if replace_old:
        session.execute(
            update(HomeDoor)
            .where(HomeDoor.building_id == building, HomeDoor.apartment.in_(wanted))
            .where(HomeDoor.revoked_at.is_(None))
            .values(revoked_at=now)
        )
    return tuple(Card(a, issue_door(session, now, building, a, batch)) for a in wanted)


def cards_in_use(session: Session, building: str) -> CardsInUse:
    """Which apartments have a card.

    Raises:
        NotFoundError: there is no such building.
    """
    plant = plant_of(session, building)
    if plant is None:
        raise NotFoundError("there is no such building")
    made = session.execute(
        select(HomeDoor.apartment, HomeDoor.created_at)
        .where(HomeDoor.building_id == building, HomeDoor.revoked_at.is_(None))
        .order_by(HomeDoor.created_at)
    )
    newest: dict[str, datetime] = {row.apartment: row.created_at for row in made}
    homes = tuple((str(a.id), newest.get(str(a.id))) for a in plant.apartments)
    return CardsInUse(building, plant.name, plant.timezone, homes)


def key_hash(key: str) -> str:
    """Dashes, spaces and capitals do not matter to somebody who types a key from a card."""
    return hashed("".join(c for c in key[:LONGEST_KEY].lower() if c.isalnum()))
