"""The tables of texts and of what waits to be done; read with ``service.store.tables``."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from service.store.base import Base

__all__ = ["Alert", "InboxMessage", "NumberRow", "OutboxMessage", "TimerRow"]


class InboxMessage(Base):
    """An inbound text, stored before anything is decided about it; ``seq`` is arrival order."""

    __tablename__ = "inbox"
    __table_args__ = (UniqueConstraint("via", "sender_id"), Index(None, "state", "seq"))
    seq: Mapped[int] = mapped_column(primary_key=True)
    id: Mapped[str] = mapped_column(unique=True)
    sender_id: Mapped[str]
    via: Mapped[str] = mapped_column(String(8))  # smtp, http, web
    from_number: Mapped[str] = mapped_column(index=True)
    to_address: Mapped[str | None]
    received_at: Mapped[datetime]
    sent_at: Mapped[datetime | None]
    raw: Mapped[bytes]
    text: Mapped[str | None]
    state: Mapped[str] = mapped_column(String(12), default="pending")  # pending, read, set_aside
    attempts: Mapped[int] = mapped_column(default=0)
    complaint_id: Mapped[str | None] = mapped_column(ForeignKey("complaints.id"), index=True)
    ticket_id: Mapped[str | None] = mapped_column(ForeignKey("tickets.id"))
    reading: Mapped[dict[str, Any] | None]
    answer: Mapped[dict[str, Any] | None]


class NumberRow(Base):
    """What we know of a phone number: its language, its opt-out, its conversation."""

    __tablename__ = "numbers"
    number: Mapped[str] = mapped_column(primary_key=True)
    language: Mapped[str | None]
    stopped_at: Mapped[datetime | None]
    conversation: Mapped[dict[str, Any] | None]
    updated_at: Mapped[datetime]
    spare_reply_at: Mapped[datetime | None]  # an unknown number's one answer of the day


class TimerRow(Base):
    """Something to do at a time; a row, so that it survives a restart and fires once."""

    __tablename__ = "timers"
    __table_args__ = (Index(None, "done_at", "due_at"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    purpose: Mapped[str]
    key: Mapped[str] = mapped_column(unique=True)
    due_at: Mapped[datetime]
    number: Mapped[str | None] = mapped_column(index=True)
    complaint_id: Mapped[str | None] = mapped_column(ForeignKey("complaints.id"))
    body: Mapped[dict[str, Any]]
    claimed_at: Mapped[datetime | None]
    done_at: Mapped[datetime | None]
    attempts: Mapped[int] = mapped_column(default=0)


class OutboxMessage(Base):
    """A text to send, written in the same transaction as the decision to send it."""

    __tablename__ = "outbox"
    __table_args__ = (Index(None, "sent_at", "failed_at", "send_at"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    to_number: Mapped[str] = mapped_column(index=True)
    text: Mapped[str]
    segments: Mapped[int]
    created_at: Mapped[datetime]
    send_at: Mapped[datetime]
    next_try_at: Mapped[datetime]  # send_at at first, later after a failed attempt
    claimed_at: Mapped[datetime | None]
    sent_at: Mapped[datetime | None]
    failed_at: Mapped[datetime | None]  # given up
    attempts: Mapped[int] = mapped_column(default=0)
    asks: Mapped[dict[str, Any] | None]
    message_id: Mapped[str | None] = mapped_column(ForeignKey("inbox.id"), index=True)
    complaint_id: Mapped[str | None] = mapped_column(ForeignKey("complaints.id"))
    urgent: Mapped[bool] = mapped_column(default=False)
    written_by: Mapped[str | None]  # the person at the desk who wrote it


class Alert(Base):
    """Something a person at the desk must see at once."""

    __tablename__ = "alerts"
    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime]
    what: Mapped[str]
    message_id: Mapped[str | None] = mapped_column(ForeignKey("inbox.id"))
    acknowledged_at: Mapped[datetime | None]
    first_id: Mapped[int | None]  # the alert that this one raises again
    ticket_id: Mapped[str | None]  # what it is about, where no text raised it
    complaint_id: Mapped[str | None]
