"""${message}

Keep to these rules: add, then fill, then require; the version before must still run on the new
schema; never edit a migration that has been released.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from service.store import types

revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}
branch_labels = None
depends_on = None


def upgrade() -> None:
    """${message}."""
    ${upgrades if upgrades else "pass"}
