"""What people decide about tickets, and what it was before.

Keep to these rules: add, then fill, then require; the version before must still run on the new
schema; never edit a migration that has been released.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from service.store import types

revision = "20261125_1110"
down_revision = "20261125_1100"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add columns that the version before leaves empty, and two tables."""
    for column in (
        sa.Column("assigned_to", sa.String(), nullable=True),
        sa.Column("held_until", types.UtcDateTime(timezone=True), nullable=True),
        sa.Column("hold_reason", sa.String(), nullable=True),
        sa.Column("respond_by_set", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("alone", sa.Boolean(), server_default=sa.false(), nullable=False),
    ):
        op.add_column("tickets", column)
    op.add_column("complaints", sa.Column("taken_over_by", sa.String(), nullable=True))
    op.add_column("outbox", sa.Column("written_by", sa.String(), nullable=True))
    op.add_column("alerts", sa.Column("ticket_id", sa.String(), nullable=True))
    op.add_column("alerts", sa.Column("complaint_id", sa.String(), nullable=True))
    _acts()
    _acted_tickets()


def _acts() -> None:
    op.create_table(
        "desk_acts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("account", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("act", sa.String(length=16), nullable=False),
        sa.Column("ticket_id", sa.String(), nullable=False),
        sa.Column("complaint_id", sa.String(), nullable=True),
        sa.Column("says", sa.String(), nullable=False),
        sa.Column("body", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("undone_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.Column("undone_by", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(
            ["complaint_id"], ["complaints.id"], name=op.f("fk_desk_acts_complaint_id_complaints")
        ),
        sa.ForeignKeyConstraint(
            ["ticket_id"], ["tickets.id"], name=op.f("fk_desk_acts_ticket_id_tickets")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_desk_acts")),
    )
    for column in ("ticket_id", "complaint_id"):
        op.create_index(op.f(f"ix_desk_acts_{column}"), "desk_acts", [column], unique=False)


def _acted_tickets() -> None:
    op.create_table(
        "desk_act_tickets",
        sa.Column("act_id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("ticket_id", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["act_id"], ["desk_acts.id"], name=op.f("fk_desk_act_tickets_act_id_desk_acts")
        ),
        sa.ForeignKeyConstraint(
            ["ticket_id"], ["tickets.id"], name=op.f("fk_desk_act_tickets_ticket_id_tickets")
        ),
        sa.PrimaryKeyConstraint("act_id", "ticket_id", name=op.f("pk_desk_act_tickets")),
    )
    op.create_index(
        op.f("ix_desk_act_tickets_ticket_id"), "desk_act_tickets", ["ticket_id"], unique=False
    )
