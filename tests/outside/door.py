"""Starts the service as its own process and calls it over HTTP, as any outsider would."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, Self

import httpx

__all__ = ["Door", "Trouble"]

_ROLES = ("owner", "gateway", "desk", "truck")
_READY_WITHIN_S = 120.0
_SLOW_S = 2.0


@dataclass
class Trouble:
    """A reply that an outsider would complain about."""

    call: str
    status: int
    seconds: float
    detail: str


@dataclass
class Door:
    """A running service with a manual clock; ``with Door(start) as door`` starts and ends it.

    ``start`` is the first time of its clock (with an offset). Calls return the decoded JSON; a reply of
    400 or more, or one slower than two seconds, is also kept in ``troubles``.
    """

    start: datetime
    troubles: list[Trouble] = field(default_factory=list)
    seconds: dict[str, list[float]] = field(default_factory=dict)

    def __enter__(self) -> Self:
        self._folder = tempfile.TemporaryDirectory(prefix="outside-")
        environment = os.environ | {
            "ENDSWITCH_STATE": self._folder.name,
            "ENDSWITCH_CLOCK_START": self.start.isoformat(),
        }
        program = [sys.executable, "-m", "service"]
        self._tokens = {
            role: subprocess.run(
                [*program, "token", "--role", role],
                env=environment,
                check=True,
                capture_output=True,
                text=True,
            ).stdout.split()[0]
            for role in _ROLES
        }
        http, smtp = _free_port(), _free_port()
        self._log = (Path(self._folder.name) / "serve.log").open("wb")
        self._process = subprocess.Popen(
            [*program, "serve", "--clock", "manual", "--port", str(http), "--smtp-port", str(smtp)],
            env=environment,
            stdout=self._log,
            stderr=subprocess.STDOUT,
        )
        # Drawing an episode may take longer than the service keeps an idle connection.
        idle = httpx.Limits(keepalive_expiry=2)
        self._client = httpx.Client(base_url=f"http://127.0.0.1:{http}", timeout=60, limits=idle)
        self._wait_until_ready()
        return self

    def __exit__(self, *_: object) -> None:
        self._client.close()
        self._process.terminate()
        self._process.wait(timeout=20)
        self._log.close()
        self._folder.cleanup()

    def _wait_until_ready(self) -> None:
        until = time.monotonic() + _READY_WITHIN_S
        while time.monotonic() < until:
            try:
                if self._client.get("/readyz").status_code == httpx.codes.OK:
                    return
            except httpx.TransportError:
                pass
            time.sleep(0.1)
        raise RuntimeError((Path(self._folder.name) / "serve.log").read_text()[-2000:])

    def call(self, method: str, path: str, role: str, body: Any = None) -> Any:
        """One call under ``/api/v1``; the decoded reply, also of an error."""
        reply = self._client.request(
            method,
            "/api/v1" + path,
            json=body,
            headers={"Authorization": f"Bearer {self._tokens[role]}"},
        )
        seconds = reply.elapsed.total_seconds()
        kind = f"{method} /{path.split('/')[1].split('?', maxsplit=1)[0]}"
        self.seconds.setdefault(kind, []).append(seconds)
        if reply.status_code >= httpx.codes.BAD_REQUEST or seconds > _SLOW_S:
            said = f"{reply.text[:600]} <- {json.dumps(body)[:200]}"
            self.troubles.append(Trouble(f"{method} {path}", reply.status_code, seconds, said))
        return reply.json()


def _free_port() -> int:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return int(listener.getsockname()[1])
