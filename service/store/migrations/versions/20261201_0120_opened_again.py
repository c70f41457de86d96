"""A complaint says when it was opened again for the last time.

Keep to these rules: add, then fill, then require; the version before must still run on the new
schema; never edit a migration that has been released.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from service.store import types

revision = "20261201_0120"
down_revision = "20261130_2130"
branch_labels = None
depends_on = None

_COMPLAINTS = sa.table(
    "complaints",
    sa.column("id", sa.String()),
    sa.column("reopened_at", types.UtcDateTime(timezone=True)),
)
_EVENTS = sa.table(
    "ticket_events",
    sa.column("id", sa.Integer()),
    sa.column("at", types.UtcDateTime(timezone=True)),
    sa.column("what", sa.String()),
    sa.column("body", sa.JSON(none_as_null=True)),
)


def upgrade() -> None:
    """Add the column; the histories of tickets say when each was opened again."""
    op.add_column(
        "complaints", sa.Column("reopened_at", types.UtcDateTime(timezone=True), nullable=True)
    )
    connection = op.get_bind()
    query = sa.select(_EVENTS.c.at, _EVENTS.c.body).where(_EVENTS.c.what == "reopened")
    for at, body in connection.execute(query.order_by(_EVENTS.c.id)).all():
        mine = _COMPLAINTS.c.id == body.get("complaint")
        connection.execute(sa.update(_COMPLAINTS).where(mine).values(reopened_at=at))
