"""The program as somebody else's script meets it: a process, HTTP, SMTP and the files it writes."""

from __future__ import annotations

import json
import os
import smtplib
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from email.message import EmailMessage
from itertools import count
from pathlib import Path
from typing import Any

import httpx

ROLES = ("gateway", "desk", "truck", "owner")
INTAKE = "intake@endswitch.example"
HOUSE_NUMBER = "+12125550199"
CLEAN_ENVIRONMENT = {k: v for k, v in os.environ.items() if not k.startswith("ENDSWITCH_")}


def run(state: Path, *words: str, **variables: str) -> subprocess.CompletedProcess[str]:
    """One call of the command line."""
    return subprocess.run(
        [sys.executable, "-m", "service", *words],
        env=CLEAN_ENVIRONMENT | {"ENDSWITCH_STATE": str(state)} | variables,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def free_port() -> int:
    """A port nobody listens on."""
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        port: int = s.getsockname()[1]
        return port


def moment(text: str) -> datetime:
    """A time of the contract: RFC 3339 with an offset, or the test fails here."""
    found = datetime.fromisoformat(text)
    assert found.tzinfo is not None, f"{text} has no offset"
    return found


@dataclass(frozen=True)
class Issued:
    """A state folder with a token of each role, as the command line leaves it."""

    state: Path
    tokens: dict[str, str]


@dataclass
class Program:
    """A service that runs in its own process."""

    state: Path
    base: str
    smtp_port: int
    tokens: dict[str, str]
    client: httpx.Client
    _ids: Iterator[int] = field(default_factory=lambda: count(1))

    def call(self, method: str, path: str, role: str | None = None, **more: Any) -> httpx.Response:
        """Any request, as a role or as nobody."""
        headers = dict(more.pop("headers", {}))
        if role is not None:
            headers["Authorization"] = f"Bearer {self.tokens[role]}"
        return self.client.request(method, path, headers=headers, **more)

    def get(self, path: str, role: str = "desk", **query: Any) -> Any:
        """The JSON of a call that must work."""
        answer = self.call("GET", path, role, params=query)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def put(self, path: str, body: Any) -> httpx.Response:
        """Something the owner puts."""
        return self.call("PUT", path, "owner", json=body)

    def now(self) -> datetime:
        """What the clock of the service says."""
        return moment(self.get("/api/v1/clock", "owner")["now"])

    def weather(self, outdoor_f: float = 20.0) -> dict[str, Any]:
        """The same temperature a day back and three ahead."""
        now = self.now()
        return {
            "hours": [
                {"at": (now + timedelta(hours=h)).isoformat(), "outdoor_f": outdoor_f}
                for h in range(-24, 73)
            ]
        }

    def load(
        self, document: dict[str, Any], rows: list[dict[str, Any]], outdoor_f: float = 20.0
    ) -> None:
        """A building with its households and the weather of its station."""
        base = f"/api/v1/buildings/{document['building']}"
        station = f"/api/v1/weather/{document['weather_station']}"
        weather = self.weather(outdoor_f)
        for path, body in ((base, document), (f"{base}/households", rows), (station, weather)):
            answer = self.put(path, body)
            assert answer.status_code == 200, answer.text

    def move(self, **span: float) -> list[dict[str, Any]]:
        """Move the clock forward; what was sent on the way."""
        to = self.now() + timedelta(**span)
        answer = self.put("/api/v1/clock", {"now": to.isoformat()})
        assert answer.status_code == 200, answer.text
        assert moment(answer.json()["now"]) == to
        sent: list[dict[str, Any]] = answer.json()["sent"]
        return sent

    def post_text(self, sender: str, words: str, message: str | None = None) -> httpx.Response:
        """A text through the HTTP door."""
        body = {
            "id": message or f"sim-{next(self._ids)}",
            "from": sender,
            "to": HOUSE_NUMBER,
            "text": words,
            "sent_at": self.now().isoformat(),
        }
        return self.call("POST", "/api/v1/texts", "gateway", json=body)

    def text(self, sender: str, words: str, message: str | None = None) -> dict[str, Any]:
        """A text through the HTTP door that must be answered at once."""
        answer = self.post_text(sender, words, message)
        assert answer.status_code == 200, answer.text
        found: dict[str, Any] = answer.json()
        return found

    def mail(self, sender: str, words: str, message_id: str | None = None, to: str = INTAKE) -> str:
        """A text through the SMTP door, returned is its Message-ID."""
        mail = EmailMessage()
        mail["From"] = f"{sender}@sms.example"
        mail["To"] = to
        mail["Message-ID"] = message_id or f"<sim-{next(self._ids)}@sms.example>"
        mail.set_content(words)
        with smtplib.SMTP("127.0.0.1", self.smtp_port, timeout=20) as door:
            refused = door.send_message(mail)
        assert refused == {}
        return str(mail["Message-ID"])

    def outbox(self) -> list[dict[str, Any]]:
        """The lines of the file adapter."""
        file = self.state / "outbox.jsonl"
        if not file.exists():
            return []
        return [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]

    def inbox(self) -> list[dict[str, Any]]:
        """Every stored inbound text, page by page."""
        found: list[dict[str, Any]] = []
        after: str | None = None
        while True:
            page = self.get("/api/v1/inbox", limit=100, **({"after": after} if after else {}))
            found += page["messages"]
            after = page["next"]
            if not page["messages"] or after is None:
                return found


def _serve(state: Path, port: int, smtp_port: int, clock: str, log: Any) -> subprocess.Popen[bytes]:
    words = ["serve", "--port", str(port), "--smtp-port", str(smtp_port)]
    if clock != "system":
        words += ["--clock", clock]
    return subprocess.Popen(
        [sys.executable, "-m", "service", *words],
        env=CLEAN_ENVIRONMENT | {"ENDSWITCH_STATE": str(state)},
        stdout=log,
        stderr=subprocess.STDOUT,
    )


def _wait_until_ready(process: subprocess.Popen[bytes], client: httpx.Client, log: Path) -> None:
    for _ in range(600):
        assert process.poll() is None, log.read_text()
        try:
            if client.get("/readyz").status_code == 200:
                return
        except httpx.TransportError:
            pass
        try:
            process.wait(0.1)
        except subprocess.TimeoutExpired:
            continue
    raise AssertionError(log.read_text())


@contextmanager
def serving(folder: Path, tokens: dict[str, str], clock: str = "manual") -> Iterator[Program]:
    """Start the program on free ports, with the state folder in this one; stop it afterwards."""
    state = folder / "state"
    port, smtp_port = free_port(), free_port()
    base = f"http://127.0.0.1:{port}"
    log = folder / "serve.log"
    with log.open("wb") as out, httpx.Client(base_url=base, timeout=60) as client:
        process = _serve(state, port, smtp_port, clock, out)
        try:
            _wait_until_ready(process, client, log)
            yield Program(state, base, smtp_port, tokens, client)
        finally:
            process.terminate()
            process.wait(20)
