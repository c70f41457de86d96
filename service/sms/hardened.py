"""The SMTP protocol with limits an open port needs.

The library restarts its timeout with every command, takes any number of connections and
recipients, and keeps an endless line in memory. Here a connection has a total lifetime, the
listener a number of connections, and a line a length after which the connection ends.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from typing import Any, cast

from aiosmtpd.smtp import SMTP

__all__ = ["HardenedSMTP", "Limits", "OpenConnections"]

# Calls of one command on one connection; a kept connection may carry many texts.
_CALLS_MOST = {"*": 100_000, "NOOP": 20, "HELP": 5, "VRFY": 5, "EXPN": 5, "AUTH": 3}


@dataclass(frozen=True, slots=True)
class Limits:
    """What one listener and one connection may use."""

    connections: int = 50
    lifetime_seconds: float = 600
    command_seconds: float = 60
    recipients: int = 5
    message_bytes: int = 300 * 1024
    line_bytes: int = 1024 * 1024  # without a line end; the message limit counts the rest
    stopping_seconds: float = 5


OpenConnections = set["HardenedSMTP"]


class HardenedSMTP(SMTP):
    """One connection."""

    def __init__(
        self,
        handler: object,
        *,
        open_connections: OpenConnections,
        limits: Limits,
        hostname: str,
        loop: asyncio.AbstractEventLoop,
    ) -> None:
        """Serve ``handler`` as long as ``open_connections`` has room."""
        super().__init__(
            handler,
            data_size_limit=limits.message_bytes,
            timeout=limits.command_seconds,
            hostname=hostname,
            ident="Endswitch",
            command_call_limit=_CALLS_MOST,
            loop=loop,
        )
        self._limits = limits
        self._open_connections = open_connections
        self._admitted = False
        self._ending = False
        self._storing = False
        self._line_bytes = 0
        self._lifetime: asyncio.TimerHandle | None = None

    @property
    def work(self) -> asyncio.Task[None] | None:
        """The task that serves this connection; done when the connection is."""
        return self._handler_coroutine

    def abort(self) -> None:
        """Close without a word."""
        if self.transport is not None:
            cast("asyncio.Transport", self.transport).abort()

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """Take the connection, or refuse it when the listener is full."""
        if len(self._open_connections) >= self._limits.connections:
            wire = cast("asyncio.Transport", transport)
            wire.write(b"421 4.3.2 Too many connections, try again later\r\n")
            wire.close()
            return
        self._admitted = True
        self._open_connections.add(self)
        super().connection_made(transport)
        self._lifetime = self.loop.call_later(self._limits.lifetime_seconds, self.end)

    def connection_lost(self, error: Exception | None) -> None:
        """Forget the connection."""
        if self._lifetime is not None:
            self._lifetime.cancel()
        self._open_connections.discard(self)
        if self._admitted:
            super().connection_lost(error)

    def data_received(self, data: bytes) -> None:
        """Pass bytes on, unless a line has grown past any use."""
        if not self._admitted:
            return
        end = data.rfind(b"\r\n")
        self._line_bytes = len(data) - end - 2 if end >= 0 else self._line_bytes + len(data)
        if self._line_bytes > self._limits.line_bytes:
            self.abort()
            return
        super().data_received(data)

    def eof_received(self) -> bool | None:
        """The other side has finished writing."""
        return super().eof_received() if self._admitted else None

    def end(self) -> None:
        """Say goodbye and close; at once, or after the message in hand."""
        self._ending = True
        if self._storing or self.transport is None:
            return
        wire = cast("asyncio.Transport", self.transport)
        wire.write(b"421 4.3.2 Closing the connection\r\n")
        wire.close()

    async def smtp_DATA(self, arg: str) -> None:  # noqa: N802 - the library finds it by this name
        """Take a message; nothing may close the connection while its answer is owed."""
        await super().smtp_DATA(arg)
        self._storing = False
        if self._ending:
            self.end()

    async def _call_handler_hook(self, command: str, *args: object) -> Any:
        if command == "DATA":
            self._storing = True
        return await super()._call_handler_hook(command, *args)
