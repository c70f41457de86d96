"""Which other homes of the building a text names when it says how they are: "4B has none either"."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator

from rules.model import ApartmentId, Kind, NeighborSaid
from rules.reading import volunteered
from service.usecases.desk.find_home import door_of
from service.usecases.hearing.no_answer import parts_of
from service.usecases.hearing.turn import Turn

__all__ = ["neighbors_named"]

_OF_A_ROOM = frozenset({Kind.TOO_COLD, Kind.TOO_HOT})
_DOOR = re.compile(
    r"(?:\b(?:apt|apartment|unit|apto|depto|apartamento|departamento|depa)\.? ?#?|#)"
    r"(\d{1,4}[a-z]?|[a-z])\b"
    r"|\b(\d{1,4}-?[a-z]|[a-z]-?\d{1,4})\b",
    re.IGNORECASE,
)


def neighbors_named(
    turn: Turn, home: tuple[str, str], kinds: Collection[Kind]
) -> tuple[NeighborSaid, ...]:
    """What a text says of other homes by their doors, of the one trouble of a room that is reported.

    ``home`` is the sender's own: building and apartment.
    """
    rooms = _OF_A_ROOM.intersection(kinds)
    if len(rooms) != 1:
        return ()
    (kind,) = rooms
    text = turn.message.text or ""
    said = {door: same for part in parts_of(text) for door, same in _doors(turn, home[0], part)}
    own = ApartmentId(home[1])
    return tuple(NeighborSaid(own, door, kind, same) for door, same in said.items() if door != own)


def _doors(turn: Turn, building: str, part: str) -> Iterator[tuple[ApartmentId, bool]]:
    """The homes that a part of a text names, and whether they have the same trouble."""
    told = [answer.means for answer in volunteered(part) if answer.topic == "q_neigh"]
    for found in _DOOR.finditer(part) if told else ():
        door = door_of(turn.session, building, found[1] or found[2])
        if door is not None:
            yield ApartmentId(door), told == ["yes"]
