"""What arrives from phones that were without signal.

Keep to these rules: add, then fill, then require; the version before must still run on the new
schema; never edit a migration that has been released.
"""

from __future__ import annotations

revision = "20261125_1120"
down_revision = "20261125_1110"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add what the revision is named for."""
