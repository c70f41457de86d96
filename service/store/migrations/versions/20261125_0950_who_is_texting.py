"""Whose phone it is, news to many, alerts raised again.

Keep to these rules: add, then fill, then require; the version before must still run on the new
schema; never edit a migration that has been released.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from service.store import types

revision = "20261125_0950"
down_revision = "20261125_0905"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add three columns and three tables; the version before leaves them at their defaults."""
    op.add_column("alerts", sa.Column("first_id", sa.Integer(), nullable=True))
    op.add_column(
        "numbers", sa.Column("spare_reply_at", types.UtcDateTime(timezone=True), nullable=True)
    )
    op.add_column(
        "complaints",
        sa.Column("confirmed", sa.Boolean(), server_default=sa.true(), nullable=False),
    )
    _number_homes()
    _sender_codes()
    _broadcasts()


def _number_homes() -> None:
    op.create_table(
        "number_homes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("building_id", sa.String(), nullable=False),
        sa.Column("apartment", sa.String(), nullable=False),
        sa.Column("how", sa.String(length=8), nullable=False),
        sa.Column("shown_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["building_id"], ["buildings.id"], name=op.f("fk_number_homes_building_id_buildings")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_number_homes")),
        sa.UniqueConstraint(
            "number",
            "building_id",
            "apartment",
            name=op.f("uq_number_homes_number_building_id_apartment"),
        ),
    )
    op.create_index(
        op.f("ix_number_homes_building_id"), "number_homes", ["building_id"], unique=False
    )


def _sender_codes() -> None:
    op.create_table(
        "sender_codes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("building_id", sa.String(), nullable=False),
        sa.Column("apartment", sa.String(), nullable=False),
        sa.Column("code_hash", sa.String(), nullable=False),
        sa.Column("made_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("ends_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("done_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["building_id"], ["buildings.id"], name=op.f("fk_sender_codes_building_id_buildings")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sender_codes")),
    )
    op.create_index(op.f("ix_sender_codes_number"), "sender_codes", ["number"], unique=False)
    op.create_index(
        op.f("ix_sender_codes_building_id_apartment_made_at"),
        "sender_codes",
        ["building_id", "apartment", "made_at"],
        unique=False,
    )


def _broadcasts() -> None:
    op.create_table(
        "broadcasts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("request_id", sa.String(), nullable=False),
        sa.Column("building_id", sa.String(), nullable=False),
        sa.Column("ticket_id", sa.String(), nullable=True),
        sa.Column("at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("asked", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("answer", sa.JSON(none_as_null=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["building_id"], ["buildings.id"], name=op.f("fk_broadcasts_building_id_buildings")
        ),
        sa.ForeignKeyConstraint(
            ["ticket_id"], ["tickets.id"], name=op.f("fk_broadcasts_ticket_id_tickets")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_broadcasts")),
        sa.UniqueConstraint("request_id", name=op.f("uq_broadcasts_request_id")),
    )
    op.create_index(op.f("ix_broadcasts_building_id"), "broadcasts", ["building_id"], unique=False)
    op.create_index(op.f("ix_broadcasts_ticket_id"), "broadcasts", ["ticket_id"], unique=False)
