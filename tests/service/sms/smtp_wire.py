"""A plain socket that speaks SMTP badly on purpose, and how an intake is started."""

from __future__ import annotations

import socket
from collections.abc import Callable
from typing import Protocol

from service.sms.intake import Intake, Limits, Store

ADDRESS = "intake@endswitch.example"


class StartIntake(Protocol):
    """Starts an intake that is stopped when the test ends."""

    def __call__(
        self, store: Store, *, wake: Callable[[], None] = ..., limits: Limits | None = None
    ) -> Intake: ...


class Wire:
    """A plain socket that speaks as much SMTP as a test wants."""

    def __init__(self, port: int) -> None:
        self.socket = socket.create_connection(("127.0.0.1", port), timeout=10)
        self._lines = self.socket.makefile("rb")

    def send(self, content: bytes) -> None:
        """Send bytes as they are."""
        self.socket.sendall(content)

    def answer(self) -> bytes:
        """The next answer's last line; empty when the other side has closed."""
        while True:
            line = self._lines.readline()
            if line[3:4] != b"-":
                return line

    def say(self, command: bytes) -> bytes:
        """Send a line and return the answer."""
        self.send(command + b"\r\n")
        return self.answer()

    def until_data(self, sender: bytes = b"2125550123@sms.example") -> None:
        """Greet and come to the point where the message follows."""
        self.answer()
        self.say(b"EHLO client.example")
        assert self.say(b"MAIL FROM:<" + sender + b">").startswith(b"250")
        assert self.say(b"RCPT TO:<" + ADDRESS.encode() + b">").startswith(b"250")
        assert self.say(b"DATA").startswith(b"354")

    def close(self) -> None:
        """Hang up."""
        self._lines.close()
        self.socket.close()
