"""A radiator as warm as its supply is one finding, however warm that is.

Keep to these rules: add, then fill, then require; the version before must still run on the new
schema; never edit a migration that has been released.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "20261130_1640"
down_revision = "20261130_1520"
branch_labels = None
depends_on = None

_FACTS = sa.table("facts", sa.column("id", sa.Integer()), sa.column("body", sa.JSON()))
_BEFORE = frozenset({"hot_to_the_end", "low_as_target"})


def upgrade() -> None:
    """Rename the finding; a version before takes the new word for one that it does not know."""
    connection = op.get_bind()
    found = connection.execute(sa.select(_FACTS)).all()
    for row in found:
        if row.body.get("outcome") in _BEFORE:
            renamed = {**row.body, "outcome": "as_warm_as_supply"}
            mine = _FACTS.c.id == row.id
            connection.execute(sa.update(_FACTS).where(mine).values(body=renamed))
