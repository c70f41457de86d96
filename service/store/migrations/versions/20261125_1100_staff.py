"""Staff accounts, their sessions, and what they did.

Keep to these rules: add, then fill, then require; the version before must still run on the new
schema; never edit a migration that has been released. A later migration must not rebuild
``audit_log`` by copying it: the triggers made here would be lost.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from service.store import types

revision = "20261125_1100"
down_revision = "20261125_0950"
branch_labels = None
depends_on = None

REFUSAL = "the audit log can only be added to"


def upgrade() -> None:
    """Add three tables and whose account a link or a session is; guard the audit log."""
    _accounts()
    _tries()
    _audit_log()
    if op.get_bind().dialect.name == "sqlite":
        _guard_in_sqlite()
    else:
        _guard_in_postgresql()


def _accounts() -> None:
    op.create_table(
        "accounts",
        sa.Column("login", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("password_hash", sa.String(), nullable=True),
        sa.Column("password_set_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.Column("created_at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("off_at", types.UtcDateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("login", name=op.f("pk_accounts")),
    )
    for table in ("entry_links", "sessions"):
        with op.batch_alter_table(table, schema=None) as batch_op:
            batch_op.add_column(sa.Column("account", sa.String(), nullable=True))
            batch_op.create_index(batch_op.f(f"ix_{table}_account"), ["account"], unique=False)
            batch_op.create_foreign_key(
                batch_op.f(f"fk_{table}_account_accounts"), "accounts", ["account"], ["login"]
            )
    seen_at: sa.Column[object] = sa.Column(
        "seen_at", types.UtcDateTime(timezone=True), nullable=True
    )
    op.add_column("sessions", seen_at)


def _tries() -> None:
    op.create_table(
        "sign_in_tries",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("login_hash", sa.String(), nullable=False),
        sa.Column("address_hash", sa.String(), nullable=False),
        sa.Column("good", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_in_tries")),
    )
    for column in ("login_hash", "address_hash"):
        name = op.f(f"ix_sign_in_tries_{column}_at")
        op.create_index(name, "sign_in_tries", [column, "at"], unique=False)


def _audit_log() -> None:
    op.create_table(
        "audit_log",
        sa.Column("seq", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", types.UtcDateTime(timezone=True), nullable=False),
        sa.Column("account", sa.String(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("act", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("details", sa.Text(), nullable=False),
        sa.Column("previous_hash", sa.String(length=64), nullable=False),
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.PrimaryKeyConstraint("seq", name=op.f("pk_audit_log")),
    )
    op.create_index(
        op.f("ix_audit_log_account_act_at"), "audit_log", ["account", "act", "at"], unique=False
    )


def _guard_in_sqlite() -> None:
    for what in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER audit_log_no_{what.lower()} BEFORE {what} ON audit_log "
            f"BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END"
        )
    # INSERT OR REPLACE removes a row without asking the trigger on DELETE.
    op.execute(
        "CREATE TRIGGER audit_log_no_replace BEFORE INSERT ON audit_log "  # noqa: S608 - our words
        "WHEN NEW.seq <= (SELECT max(seq) FROM audit_log) "
        f"BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END"
    )


def _guard_in_postgresql() -> None:
    op.execute(
        "CREATE FUNCTION refuse_audit_change() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{REFUSAL}'; END $$"
    )
    op.execute(
        "CREATE TRIGGER audit_log_no_change BEFORE UPDATE OR DELETE ON audit_log "
        "FOR EACH ROW EXECUTE FUNCTION refuse_audit_change()"
    )
    op.execute(
        "CREATE TRIGGER audit_log_no_truncate BEFORE TRUNCATE ON audit_log "
        "FOR EACH STATEMENT EXECUTE FUNCTION refuse_audit_change()"
    )
