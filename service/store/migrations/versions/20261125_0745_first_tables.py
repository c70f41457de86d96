"""The first tables.

Keep to these rules: add, then fill, then require; the version before must still run on the new
schema; never edit a migration that has been released.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from service.store import types

revision = "20261125_0740"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create the first tables."""
    _api_tokens()
    _buildings()
    _clock_state()
    _entry_links()
    _numbers()
    _sessions()
    _weather_hours()
    _households()
    _tickets()
    _closures()
    _complaints()
    _installs()
    _ticket_events()
    _facts()
    _inbox()
    _timers()
    _alerts()
    _outbox()


def _api_tokens() -> None:
    op.create_table(
        "api_tokens",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("token_hash", sa.String(), nullable=False),
        sa.Column("created_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("revoked_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_api_tokens")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_api_tokens_token_hash")),
    )


def _buildings() -> None:
    op.create_table(
        "buildings",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("document", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("updated_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_buildings")),
    )


def _clock_state() -> None:
    op.create_table(
        "clock_state",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("now", types.UtcDateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_clock_state")),
    )


def _entry_links() -> None:
    op.create_table(
        "entry_links",
        sa.Column("token_hash", sa.String(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("created_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("expires_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("used_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("token_hash", name=op.f("pk_entry_links")),
    )


def _numbers() -> None:
    op.create_table(
        "numbers",
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("language", sa.String(), nullable=True),
        sa.Column("stopped_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.Column("conversation", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("updated_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_numbers")),
    )


def _sessions() -> None:
    op.create_table(
        "sessions",
        sa.Column("token_hash", sa.String(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("created_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("expires_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("token_hash", name=op.f("pk_sessions")),
    )


def _weather_hours() -> None:
    op.create_table(
        "weather_hours",
        sa.Column("station", sa.String(), nullable=False),
        sa.Column("at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("outdoor_f", sa.Double(), nullable=False),
        sa.PrimaryKeyConstraint("station", "at", name=op.f("pk_weather_hours")),
    )


def _households() -> None:
    op.create_table(
        "households",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("building_id", sa.String(), nullable=False),
        sa.Column("apartment", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("mobile", sa.String(), nullable=True),
        sa.Column("email", sa.String(), nullable=True),
        sa.Column("language", sa.String(), nullable=False),
        sa.Column("care", sa.JSON(none_as_null=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["building_id"], ["buildings.id"], name=op.f("fk_households_building_id_buildings")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_households")),
    )
    with op.batch_alter_table("households", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_households_building_id"), ["building_id"], unique=False
        )
        batch_op.create_index(batch_op.f("ix_households_mobile"), ["mobile"], unique=False)


def _tickets() -> None:
    op.create_table(
        "tickets",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("building_id", sa.String(), nullable=True),
        sa.Column("scope", sa.String(), nullable=False),
        sa.Column("component", sa.String(), nullable=False),
        sa.Column("state", sa.String(length=8), nullable=False),
        sa.Column("danger", sa.Boolean(), nullable=False),
        sa.Column("opened_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("closed_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.Column("respond_by", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("because", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("picture", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("merged_into", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(
            ["building_id"], ["buildings.id"], name=op.f("fk_tickets_building_id_buildings")
        ),
        sa.ForeignKeyConstraint(
            ["merged_into"], ["tickets.id"], name=op.f("fk_tickets_merged_into_tickets")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tickets")),
    )
    with op.batch_alter_table("tickets", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_tickets_building_id"), ["building_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_tickets_state"), ["state"], unique=False)


def _closures() -> None:
    op.create_table(
        "closures",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("ticket_id", sa.String(), nullable=False),
        sa.Column("fault", sa.String(), nullable=True),
        sa.Column("component", sa.String(), nullable=True),
        sa.Column("parts", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("installed_on", sa.Date(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("closed_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["ticket_id"], ["tickets.id"], name=op.f("fk_closures_ticket_id_tickets")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_closures")),
    )
    with op.batch_alter_table("closures", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_closures_ticket_id"), ["ticket_id"], unique=False)


def _complaints() -> None:
    op.create_table(
        "complaints",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("building_id", sa.String(), nullable=True),
        sa.Column("apartment", sa.String(), nullable=True),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("opened_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("closed_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.Column("kinds", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("ticket_id", sa.String(), nullable=True),
        sa.Column("pinned", sa.Boolean(), nullable=False),
        sa.Column("care", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("danger", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("outcome", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(
            ["building_id"], ["buildings.id"], name=op.f("fk_complaints_building_id_buildings")
        ),
        sa.ForeignKeyConstraint(
            ["ticket_id"], ["tickets.id"], name=op.f("fk_complaints_ticket_id_tickets")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_complaints")),
    )
    with op.batch_alter_table("complaints", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_complaints_building_id"), ["building_id"], unique=False
        )
        batch_op.create_index(batch_op.f("ix_complaints_number"), ["number"], unique=False)
        batch_op.create_index(batch_op.f("ix_complaints_ticket_id"), ["ticket_id"], unique=False)


def _installs() -> None:
    op.create_table(
        "installs",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("building_id", sa.String(), nullable=True),
        sa.Column("component", sa.String(), nullable=False),
        sa.Column("part", sa.String(), nullable=False),
        sa.Column("installed_on", sa.Date(), nullable=False),
        sa.Column("ticket_id", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["building_id"], ["buildings.id"], name=op.f("fk_installs_building_id_buildings")
        ),
        sa.ForeignKeyConstraint(
            ["ticket_id"], ["tickets.id"], name=op.f("fk_installs_ticket_id_tickets")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_installs")),
    )
    with op.batch_alter_table("installs", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_installs_building_id"), ["building_id"], unique=False)


def _ticket_events() -> None:
    op.create_table(
        "ticket_events",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("ticket_id", sa.String(), nullable=False),
        sa.Column("at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("body", sa.JSON(none_as_null=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["ticket_id"], ["tickets.id"], name=op.f("fk_ticket_events_ticket_id_tickets")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ticket_events")),
    )
    with op.batch_alter_table("ticket_events", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_ticket_events_ticket_id"), ["ticket_id"], unique=False)


def _facts() -> None:
    op.create_table(
        "facts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("building_id", sa.String(), nullable=True),
        sa.Column("complaint_id", sa.String(), nullable=True),
        sa.Column("ticket_id", sa.String(), nullable=True),
        sa.Column("apartment", sa.String(), nullable=True),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("body", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("withdrawn_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["building_id"], ["buildings.id"], name=op.f("fk_facts_building_id_buildings")
        ),
        sa.ForeignKeyConstraint(
            ["complaint_id"], ["complaints.id"], name=op.f("fk_facts_complaint_id_complaints")
        ),
        sa.ForeignKeyConstraint(
            ["ticket_id"], ["tickets.id"], name=op.f("fk_facts_ticket_id_tickets")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_facts")),
    )
    with op.batch_alter_table("facts", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_facts_building_id"), ["building_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_facts_complaint_id"), ["complaint_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_facts_ticket_id"), ["ticket_id"], unique=False)


def _inbox() -> None:
    op.create_table(
        "inbox",
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("sender_id", sa.String(), nullable=False),
        sa.Column("via", sa.String(length=8), nullable=False),
        sa.Column("from_number", sa.String(), nullable=False),
        sa.Column("to_address", sa.String(), nullable=True),
        sa.Column("received_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("sent_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.Column("raw", sa.LargeBinary(), nullable=False),
        sa.Column("text", sa.String(), nullable=True),
        sa.Column("state", sa.String(length=12), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("complaint_id", sa.String(), nullable=True),
        sa.Column("ticket_id", sa.String(), nullable=True),
        sa.Column("reading", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("answer", sa.JSON(none_as_null=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["complaint_id"], ["complaints.id"], name=op.f("fk_inbox_complaint_id_complaints")
        ),
        sa.ForeignKeyConstraint(
            ["ticket_id"], ["tickets.id"], name=op.f("fk_inbox_ticket_id_tickets")
        ),
        sa.PrimaryKeyConstraint("seq", name=op.f("pk_inbox")),
        sa.UniqueConstraint("id", name=op.f("uq_inbox_id")),
        sa.UniqueConstraint("via", "sender_id", name=op.f("uq_inbox_via_sender_id")),
    )
    with op.batch_alter_table("inbox", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_inbox_complaint_id"), ["complaint_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_inbox_from_number"), ["from_number"], unique=False)
        batch_op.create_index(batch_op.f("ix_inbox_state_seq"), ["state", "seq"], unique=False)


def _timers() -> None:
    op.create_table(
        "timers",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("purpose", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("due_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("number", sa.String(), nullable=True),
        sa.Column("complaint_id", sa.String(), nullable=True),
        sa.Column("body", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("claimed_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.Column("done_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["complaint_id"], ["complaints.id"], name=op.f("fk_timers_complaint_id_complaints")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_timers")),
        sa.UniqueConstraint("key", name=op.f("uq_timers_key")),
    )
    with op.batch_alter_table("timers", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_timers_done_at_due_at"), ["done_at", "due_at"], unique=False
        )
        batch_op.create_index(batch_op.f("ix_timers_number"), ["number"], unique=False)


def _alerts() -> None:
    op.create_table(
        "alerts",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("message_id", sa.String(), nullable=True),
        sa.Column("acknowledged_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["message_id"], ["inbox.id"], name=op.f("fk_alerts_message_id_inbox")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_alerts")),
    )


def _outbox() -> None:
    op.create_table(
        "outbox",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("to_number", sa.String(), nullable=False),
        sa.Column("text", sa.String(), nullable=False),
        sa.Column("segments", sa.Integer(), nullable=False),
        sa.Column("created_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("send_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("next_try_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("claimed_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.Column("sent_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.Column("failed_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("asks", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("message_id", sa.String(), nullable=True),
        sa.Column("complaint_id", sa.String(), nullable=True),
        sa.Column("urgent", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["complaint_id"], ["complaints.id"], name=op.f("fk_outbox_complaint_id_complaints")
        ),
        sa.ForeignKeyConstraint(
            ["message_id"], ["inbox.id"], name=op.f("fk_outbox_message_id_inbox")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_outbox")),
    )
    with op.batch_alter_table("outbox", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_outbox_message_id"), ["message_id"], unique=False)
        batch_op.create_index(
            batch_op.f("ix_outbox_sent_at_failed_at_send_at"),
            ["sent_at", "failed_at", "send_at"],
            unique=False,
        )
        batch_op.create_index(batch_op.f("ix_outbox_to_number"), ["to_number"], unique=False)
