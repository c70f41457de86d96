"""The chance of each suspected component stands in the picture of its ticket, faults added up.

Keep to these rules: add, then fill, then require; the version before must still run on the new
schema; never edit a migration that has been released.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "20261130_0810"
down_revision = "20261125_1130"
branch_labels = None
depends_on = None

_TICKETS = sa.table(
    "tickets", sa.column("id", sa.String()), sa.column("picture", sa.JSON(none_as_null=True))
)


def upgrade() -> None:
    """Add it to the pictures that are there; a version before takes no notice of it."""
    connection = op.get_bind()
    known = connection.execute(sa.select(_TICKETS.c.id)).scalars().all()
    for ticket in known:
        mine = _TICKETS.c.id == ticket
        picture: dict[str, Any] = connection.execute(
            sa.select(_TICKETS.c.picture).where(mine)
        ).scalar_one()
        added = {**picture, "by_component": _by_component(picture["suspects"])}
        connection.execute(sa.update(_TICKETS).where(mine).values(picture=added))


def _by_component(suspects: list[dict[str, Any]]) -> list[dict[str, Any]]:
    chances: dict[str, float] = {}
    for suspect in suspects:
        chances[suspect["component"]] = (
            chances.get(suspect["component"], 0.0) + suspect["probability"]
        )
    parts = [{"component": c, "probability": round(p, 4)} for c, p in chances.items()]
    return sorted(parts, key=lambda part: -part["probability"])
