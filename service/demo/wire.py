"""The outside of the service as a gateway and an owner see it: HTTP and SMTP, nothing else."""

from __future__ import annotations

import json
import smtplib
import time
import urllib.error
import urllib.request
from collections.abc import Mapping
from email.message import EmailMessage
from typing import Any

__all__ = ["Wire", "WireError"]

_PATIENCE_SECONDS = 30.0


class WireError(RuntimeError):
    """The service answered something that the demo did not expect."""


class Wire:
    """Calls to one running service with one token per role."""

    def __init__(self, base: str, smtp_port: int, tokens: Mapping[str, str]) -> None:
        """Talk to the service at ``base``, and to its intake on loopback."""
        self._base = base
        self._smtp_port = smtp_port
        self._tokens = tokens

    def call(self, role: str, method: str, path: str, body: object = None) -> Any:
        """One JSON call.

        Raises:
            WireError: any answer but 2xx.
        """
        request = urllib.request.Request(  # noqa: S310 - our own service on loopback
            self._base + path,
            method=method,
            data=None if body is None else json.dumps(body).encode(),
            headers={
                "Authorization": f"Bearer {self._tokens[role]}",
                "Content-Type": "application/json",
            },
        )
        try:
            with urllib.request.urlopen(request, timeout=_PATIENCE_SECONDS) as answer:  # noqa: S310
                return json.loads(answer.read())
        except urllib.error.HTTPError as error:
            detail = error.read().decode(errors="replace")[:300]
            raise WireError(f"{method} {path}: {error.code} {detail}") from error

    def mail(self, *, sender: str, intake: str, domain: str, text: str, message_id: str) -> None:
        """Bring a text the way a gateway that speaks mail does."""
        mail = EmailMessage()
        mail["From"] = f"{sender}@{domain}"
        mail["To"] = intake
        mail["Message-ID"] = message_id
        mail.set_content(text)
        with smtplib.SMTP("127.0.0.1", self._smtp_port, timeout=_PATIENCE_SECONDS) as intake_server:
            intake_server.send_message(mail)

    def wait_until_read(self, message_id: str) -> str:
        """Wait until a mailed text has been worked on; returns its state.

        Raises:
            WireError: it is still pending after half a minute.
        """
        deadline = time.monotonic() + _PATIENCE_SECONDS
        after = ""
        while time.monotonic() < deadline:
            page = self.call("desk", "GET", f"/api/v1/inbox?limit=200{after}")
            for message in page["messages"]:
                if message["id"].strip("<>") == message_id.strip("<>"):
                    if message["state"] != "pending":
                        return str(message["state"])
                    break
            else:
                if page["next"] and len(page["messages"]) == 200:
                    after = f"&after={page['next']}"
                    continue
            time.sleep(0.02)
        raise WireError(f"{message_id} was not read in time")
