"""Evidence lines with the words of the text they came from."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from service.store.tables import InboxMessage
from service.usecases.rows.views import WhyLine

__all__ = ["why_lines"]

LONGEST_QUOTE = 300


def why_lines(session: Session, rows: list[dict[str, Any]]) -> tuple[WhyLine, ...]:
    """The evidence for and against the first suspects, with quotes."""
    ids = {row["message"] for row in rows if row["message"]}
    texts = {
        message.id: message
        for message in session.scalars(select(InboxMessage).where(InboxMessage.id.in_(ids)))
    }
    return tuple(_line(row, texts.get(row["message"])) for row in rows)


def _line(row: dict[str, Any], message: InboxMessage | None) -> WhyLine:
    text = message.text if message is not None else None
    reading = (message.reading or {}) if message is not None else {}
    return WhyLine(
        says=row["says"],
        message=row["message"],
        fault=row["for"],
        weight=row["weight"],
        quote=text[:LONGEST_QUOTE] if text else None,
        language=reading.get("language"),
    )
