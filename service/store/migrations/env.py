"""How Alembic runs here: on the connection ``migrate`` hands over, in batch mode."""

from __future__ import annotations

from alembic import context

from service.store.tables import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    render_as_batch=True,
    compare_type=True,
    user_module_prefix="types.",
)
with context.begin_transaction():
    context.run_migrations()
