"""The tables about staff: accounts, ways in, and what was done; read with ``service.store.tables``."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from service.store.base import Base

__all__ = ["Account", "ApiToken", "AuditRow", "EntryLink", "SignInTry", "StaffSession"]


class Account(Base):
    """A person who signs in with a password."""

    __tablename__ = "accounts"
    login: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]  # what colleagues read
    role: Mapped[str]
    password_hash: Mapped[str | None]  # Argon2id; None until the first link is used
    password_set_at: Mapped[datetime | None]
    created_at: Mapped[datetime]
    off_at: Mapped[datetime | None]  # switched off: nobody signs in with it


class ApiToken(Base):
    """A bearer token; only its hash is kept."""

    __tablename__ = "api_tokens"
    id: Mapped[int] = mapped_column(primary_key=True)
    role: Mapped[str]
    token_hash: Mapped[str] = mapped_column(unique=True)
    created_at: Mapped[datetime]
    revoked_at: Mapped[datetime | None]


class EntryLink(Base):
    """A link that works once: it signs a role in, or lets an account's person choose a password."""

    __tablename__ = "entry_links"
    token_hash: Mapped[str] = mapped_column(primary_key=True)
    role: Mapped[str]
    created_at: Mapped[datetime]
    expires_at: Mapped[datetime]
    used_at: Mapped[datetime | None]
    account: Mapped[str | None] = mapped_column(ForeignKey("accounts.login"), index=True)


class StaffSession(Base):
    """Somebody signed in with a browser."""

    __tablename__ = "sessions"
    token_hash: Mapped[str] = mapped_column(primary_key=True)
    # Of a link; an account's role is the account's, so that changes apply at once.
    role: Mapped[str]
    created_at: Mapped[datetime]
    expires_at: Mapped[datetime]
    account: Mapped[str | None] = mapped_column(ForeignKey("accounts.login"), index=True)
    seen_at: Mapped[datetime | None]  # the last time a person did something, give or take minutes


class SignInTry(Base):
    """A try to sign in with a password; kept for as long as limits look back."""

    __tablename__ = "sign_in_tries"
    __table_args__ = (Index(None, "login_hash", "at"), Index(None, "address_hash", "at"))
    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime]
    login_hash: Mapped[str]  # of what was typed, which need not be an account
    address_hash: Mapped[str]
    good: Mapped[bool]


class AuditRow(Base):
    """Something that was done; each row holds the hash of the one before. Never changed or removed."""

    __tablename__ = "audit_log"
    __table_args__ = (Index(None, "account", "act", "at"),)
    seq: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)  # 1, 2, 3 without gaps
    at: Mapped[datetime]
    account: Mapped[str]
    role: Mapped[str]
    act: Mapped[str]
    subject: Mapped[str]
    details: Mapped[str] = mapped_column(Text)  # JSON, exactly as it was hashed
    previous_hash: Mapped[str] = mapped_column(String(64))
    hash: Mapped[str] = mapped_column(String(64))
