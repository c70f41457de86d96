"""Counts the bytes of answers where they leave an application."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["Sent"]


@dataclass(slots=True)
class Sent:
    """Counts what leaves an application, by path."""

    app: ASGIApp
    answers: list[tuple[str, int]] = field(default_factory=list)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        async def counting(message: Message) -> None:
            size = len(message.get("body", b""))
            if message["type"] == "http.response.start":
                # Status line, date, and what stands around each header.
                size += 60 + sum(len(n) + len(v) + 4 for n, v in message.get("headers", ()))
            self.answers.append((scope["path"], size))
            await send(message)

        await self.app(scope, receive, counting)

    def kb(self, which: re.Pattern[str] = re.compile("")) -> float:
        """What paths that begin like this have sent so far, in KB of 1000 bytes."""
        return sum(size for path, size in self.answers if which.match(path)) / 1000
