"""How many homes wait stands with every cause and every part of a ticket's picture.

Keep to these rules: add, then fill, then require; the version before must still run on the new
schema; never edit a migration that has been released.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "20261130_2130"
down_revision = "20261130_1640"
branch_labels = None
depends_on = None

_TICKETS = sa.table(
    "tickets", sa.column("id", sa.String()), sa.column("picture", sa.JSON(none_as_null=True))
)


def upgrade() -> None:
    """In the pictures that are there one home, until they are diagnosed again."""
    connection = op.get_bind()
    known = connection.execute(sa.select(_TICKETS.c.id)).scalars().all()
    for ticket in known:
        mine = _TICKETS.c.id == ticket
        picture: dict[str, Any] = connection.execute(
            sa.select(_TICKETS.c.picture).where(mine)
        ).scalar_one()
        load = [{**part, "homes_waiting": 1.0} for part in picture["load"]]
        waiting = dict.fromkeys(picture["causes"], 1.0)
        added = {**picture, "load": load, "waiting": waiting}
        connection.execute(sa.update(_TICKETS).where(mine).values(picture=added))
