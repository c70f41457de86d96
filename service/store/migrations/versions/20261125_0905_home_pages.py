"""Doors, phone numbers and photos of the tenants' pages.

Keep to these rules: add, then fill, then require; the version before must still run on the new
schema; never edit a migration that has been released.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from service.store import types

revision = "20261125_0905"
down_revision = "20261125_0740"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create the three tables; nothing that was there changes."""
    _doors()
    _phones()
    _photos()


def _doors() -> None:
    op.create_table(
        "home_doors",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key_hash", sa.String(), nullable=False),
        sa.Column("building_id", sa.String(), nullable=False),
        sa.Column("apartment", sa.String(), nullable=False),
        sa.Column("batch", sa.String(), nullable=False),
        sa.Column("created_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("revoked_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["building_id"], ["buildings.id"], name=op.f("fk_home_doors_building_id_buildings")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_home_doors")),
        sa.UniqueConstraint("key_hash", name=op.f("uq_home_doors_key_hash")),
    )
    with op.batch_alter_table("home_doors", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_home_doors_batch"), ["batch"], unique=False)
        batch_op.create_index(
            batch_op.f("ix_home_doors_building_id"), ["building_id"], unique=False
        )


def _phones() -> None:
    op.create_table(
        "home_phones",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("building_id", sa.String(), nullable=False),
        sa.Column("apartment", sa.String(), nullable=False),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("given_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("bound", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["building_id"], ["buildings.id"], name=op.f("fk_home_phones_building_id_buildings")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_home_phones")),
    )
    with op.batch_alter_table("home_phones", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_home_phones_building_id_apartment"),
            ["building_id", "apartment"],
            unique=False,
        )


def _photos() -> None:
    op.create_table(
        "home_photos",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("complaint_id", sa.String(), nullable=False),
        sa.Column("once", sa.String(), nullable=False),
        sa.Column("at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(
            ["complaint_id"],
            ["complaints.id"],
            name=op.f("fk_home_photos_complaint_id_complaints"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_home_photos")),
        sa.UniqueConstraint("once", name=op.f("uq_home_photos_once")),
    )
    with op.batch_alter_table("home_photos", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_home_photos_complaint_id"), ["complaint_id"], unique=False
        )
