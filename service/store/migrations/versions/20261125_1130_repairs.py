"""Closing a repair: what was stated and found, photos; asking for a turn.

Keep to these rules: add, then fill, then require; the version before must still run on the new
schema; never edit a migration that has been released.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from service.store import types

revision = "20261125_1130"
down_revision = "20261125_1120"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create the four tables; nothing that was there changes."""
    _turn_asks()
    _forecasts()
    _closure_details()
    _repair_photos()


def _turn_asks() -> None:
    op.create_table(
        "turn_asks",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("ticket_id", sa.String(), nullable=False),
        sa.Column("complaint_id", sa.String(), nullable=False),
        sa.Column("topic", sa.String(length=12), nullable=False),
        sa.Column("asked_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("after_seq", sa.Integer(), nullable=False),
        sa.Column("asked_by", sa.String(), nullable=False),
        sa.Column("outbox_id", sa.Integer(), nullable=False),
        sa.Column("valve", sa.String(), nullable=True),
        sa.Column("stroke_seconds", sa.Integer(), nullable=True),
        sa.Column("wait_minutes", sa.Double(), nullable=True),
        sa.Column("question_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.Column("ended_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.Column("seen", sa.String(length=12), nullable=True),
        sa.ForeignKeyConstraint(
            ["ticket_id"], ["tickets.id"], name=op.f("fk_turn_asks_ticket_id_tickets")
        ),
        sa.ForeignKeyConstraint(
            ["complaint_id"], ["complaints.id"], name=op.f("fk_turn_asks_complaint_id_complaints")
        ),
        sa.ForeignKeyConstraint(
            ["outbox_id"], ["outbox.id"], name=op.f("fk_turn_asks_outbox_id_outbox")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_turn_asks")),
    )
    op.create_index(op.f("ix_turn_asks_ticket_id"), "turn_asks", ["ticket_id"], unique=False)
    op.create_index(op.f("ix_turn_asks_complaint_id"), "turn_asks", ["complaint_id"], unique=False)


def _forecasts() -> None:
    op.create_table(
        "forecasts",
        sa.Column("ticket_id", sa.String(), nullable=False),
        sa.Column("at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("suspects", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("unknown", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(
            ["ticket_id"], ["tickets.id"], name=op.f("fk_forecasts_ticket_id_tickets")
        ),
        sa.PrimaryKeyConstraint("ticket_id", name=op.f("pk_forecasts")),
    )


def _closure_details() -> None:
    op.create_table(
        "closure_details",
        sa.Column("closure_id", sa.Integer(), nullable=False),
        sa.Column("closed_by", sa.String(), nullable=True),
        sa.Column("verdict", sa.String(length=12), nullable=True),
        sa.Column("readings", sa.Integer(), nullable=False),
        sa.Column("first", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("unknown_first", sa.Double(), nullable=False),
        sa.Column("last", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("unknown_last", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(
            ["closure_id"], ["closures.id"], name=op.f("fk_closure_details_closure_id_closures")
        ),
        sa.PrimaryKeyConstraint("closure_id", name=op.f("pk_closure_details")),
    )


def _repair_photos() -> None:
    op.create_table(
        "repair_photos",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("ticket_id", sa.String(), nullable=False),
        sa.Column("component", sa.String(), nullable=True),
        sa.Column("at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(
            ["ticket_id"], ["tickets.id"], name=op.f("fk_repair_photos_ticket_id_tickets")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_repair_photos")),
    )
    op.create_index(
        op.f("ix_repair_photos_ticket_id"), "repair_photos", ["ticket_id"], unique=False
    )
