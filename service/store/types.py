"""Column types of our own."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import DateTime
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator

__all__ = ["UtcDateTime"]


class UtcDateTime(TypeDecorator[datetime]):
    """An instant: only aware values go in, aware UTC values come out.

    SQLite drops offsets silently, so a local time would come back hours wrong; hence the refusal.
    """

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Convert to UTC; naive for SQLite, which has no offsets."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("refusing to store a time without an offset")
        utc = value.astimezone(UTC)
        return utc.replace(tzinfo=None) if dialect.name == "sqlite" else utc

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Give back an aware UTC instant."""
        del dialect
        if value is None:
            return None
        found: datetime = value
        return found.replace(tzinfo=UTC) if found.tzinfo is None else found.astimezone(UTC)
