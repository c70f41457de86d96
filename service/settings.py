"""Everything that can be configured, read once from the environment and passed down frozen.

Numbers of the trade (limits, likelihoods, laws) are no settings: they are tables in ``rules/data``.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Literal

from pydantic import Field, SecretStr, field_validator
from pydantic_settings import BaseSettings, SettingsConfigDict

__all__ = ["PREFIX", "Settings", "unknown_variables"]

PREFIX = "ENDSWITCH_"
# Only the test suite reads these; a shell that runs tests may also start the service.
TEST_PREFIX = PREFIX + "TEST_"
DATABASES = ("postgresql://", "postgres://", "postgresql+psycopg://", "sqlite://")


class Settings(BaseSettings):
    """The configuration of one running service."""

    model_config = SettingsConfigDict(env_prefix=PREFIX, frozen=True, extra="forbid")

    database_url: str | None = Field(default=None, description="SQLAlchemy URL; default SQLite")
    state: Path = Field(default=Path("./state"), description="folder for database and outbox file")
    intake_address: str = Field(default="intake@endswitch.example", description="SMTP recipient")
    sms_domain: str = Field(default="sms.example", description="domain of the SMS mail gateway")
    gateway: Literal["file", "smtp", "http"] = Field(default="file", description="outbound adapter")
    smtp_relay: str | None = Field(default=None, description="host:port of the outbound relay")
    webhook_url: str | None = Field(default=None, description="where the http gateway posts")
    webhook_secret: SecretStr | None = Field(default=None, description="signs the webhook")
    host: str = Field(default="127.0.0.1", description="address HTTP and SMTP listen on")
    port: int = Field(default=8025, ge=0, le=65535, description="HTTP port")
    smtp_port: int = Field(default=2525, ge=0, le=65535, description="SMTP port")
    clock: Literal["system", "manual"] = Field(default="system", description="whose time it is")
    clock_start: datetime | None = Field(default=None, description="first time of a manual clock")
    texts_per_hour: int = Field(
        default=10_000,
        ge=0,
        description="texts in all within an hour; urgent ones are not held back",
    )
    public_url: str | None = Field(default=None, description="base of links sent to people")

    @field_validator("database_url")
    @classmethod
    def _known_database(cls, value: str | None) -> str | None:
        if value is not None and not value.startswith(DATABASES):
            raise ValueError(f"begins with {' or '.join(DATABASES)}")
        return value

    @field_validator("clock_start")
    @classmethod
    def _aware(cls, value: datetime | None) -> datetime | None:
        if value is not None and value.tzinfo is None:
            raise ValueError("needs a time with an offset, for example 2026-01-09T20:00:00-05:00")
        return value

    @property
    def database(self) -> str:
        """The database URL in use, with the PostgreSQL driver named."""
        if self.database_url is None:
            return f"sqlite:///{(self.state / 'endswitch.db').absolute()}"
        for short in ("postgresql://", "postgres://"):
            if self.database_url.startswith(short):
                return "postgresql+psycopg://" + self.database_url.removeprefix(short)
        return self.database_url

    @property
    def base_url(self) -> str:
        """The address people open, without a slash at the end."""
        return (self.public_url or f"http://{self.host}:{self.port}").rstrip("/")


def unknown_variables(environ: Mapping[str, str] = os.environ) -> tuple[str, ...]:
    """Variables with our prefix that nobody reads: almost always a spelling mistake."""
    known = {PREFIX + name.upper() for name in Settings.model_fields}
    ours = (name for name in environ if name.upper().startswith(PREFIX))
    return tuple(
        sorted(n for n in ours if n.upper() not in known and not n.upper().startswith(TEST_PREFIX))
    )
