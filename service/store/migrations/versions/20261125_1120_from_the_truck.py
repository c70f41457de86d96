"""What arrives from phones that were without signal.

Keep to these rules: add, then fill, then require; the version before must still run on the new
schema; never edit a migration that has been released.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from service.store import types

revision = "20261125_1120"
down_revision = "20261125_1110"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create the table; nothing that was there changes."""
    op.create_table(
        "truck_arrivals",
        sa.Column("id", sa.String(length=36), nullable=False),
        sa.Column("ticket_id", sa.String(), nullable=True),
        sa.Column("kind", sa.String(length=8), nullable=False),
        sa.Column("body", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("entered_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("arrived_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("account", sa.String(), nullable=False),
        sa.Column("state", sa.String(length=8), nullable=False),
        sa.Column("says", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["ticket_id"], ["tickets.id"], name=op.f("fk_truck_arrivals_ticket_id_tickets")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_truck_arrivals")),
    )
    op.create_index(
        op.f("ix_truck_arrivals_ticket_id"), "truck_arrivals", ["ticket_id"], unique=False
    )
