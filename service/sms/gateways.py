"""How texts leave: a file, a mail relay or a webhook. Nothing else in the service knows which.

An adapter raises ``OSError`` when a later try may help, ``TextRefusedError`` when it will not. A
text may be handed over twice after a crash, so every adapter passes on an id that stays the
same.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import hmac
import http.client
import json
import smtplib
import threading
import urllib.error
import urllib.request
from datetime import UTC
from email.message import EmailMessage
from email.policy import SMTP as SMTP_POLICY
from email.utils import format_datetime
from pathlib import Path
from typing import Any

from service.settings import Settings
from service.sms.addressing import address_of
from service.sms.segments import fold, segments
from service.usecases.rows.services import Gateway, Outgoing

__all__ = [
    "FileGateway",
    "HttpGateway",
    "SmtpGateway",
    "TextRefusedError",
    "make_gateway",
    "signature",
    "stable_id",
    "wire_form",
]

PATIENCE_SECONDS = 10
# Refusals that pass with time, or once somebody has put the address or the secret right.
_TRY_AGAIN = frozenset({401, 403, 404, 408, 409, 425, 429})


class TextRefusedError(Exception):
    """The gateway will not take this text, now or later."""


def wire_form(outgoing: Outgoing) -> dict[str, Any]:
    """A text as it is written to the file and posted: a reply with its key and when it was sent."""
    text = fold(outgoing.text)
    return {
        "key": stable_id(outgoing),
        "to": outgoing.to,
        "text": text,
        "segments": segments(text),
        "send_at": outgoing.send_at.isoformat(),
        "asks": outgoing.asks,
        "sent_at": outgoing.sent_at.isoformat(),
    }


def stable_id(outgoing: Outgoing) -> str:
    """The same for every attempt at one text, and another for every text of every installation."""
    return f"{outgoing.key}-{int(outgoing.send_at.timestamp() * 1000)}"


class FileGateway:
    """One JSON line a text; for trying the service out and for anything that reads a file."""

    def __init__(self, path: Path) -> None:
        """Append to ``path``."""
        self._path = path
        self._lock = threading.Lock()

    def send(self, outgoing: Outgoing) -> None:
        """Append a line and hand it to the operating system."""
        line = json.dumps(wire_form(outgoing), ensure_ascii=False) + "\n"
        with self._lock:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            with self._path.open("a", encoding="utf-8") as outbox:
                outbox.write(line)
                outbox.flush()


class SmtpGateway:
    """Mail to ``<number>@<gateway domain>`` through a relay."""

    def __init__(
        self, relay: str, *, sender: str, domain: str, patience_seconds: float = PATIENCE_SECONDS
    ) -> None:
        """Use the relay at ``host:port``; answers come back to ``sender``."""
        host, _, port = relay.rpartition(":")
        self._host, self._port = host.strip("[]"), int(port)
        self._sender = sender
        self._domain = domain
        self._patience_seconds = patience_seconds

    def send(self, outgoing: Outgoing) -> None:
        """Hand the text to the relay."""
        mail = self._mail(outgoing)
        helo = self._sender.rpartition("@")[2]
        try:
            with smtplib.SMTP(
                self._host, self._port, local_hostname=helo, timeout=self._patience_seconds
            ) as relay:
                relay.send_message(mail, from_addr=self._sender)
        except smtplib.SMTPRecipientsRefused as refused:
            code = next(iter(refused.recipients.values()))[0]
            raise _for_code(code) from None
        except smtplib.SMTPDataError as answer:
            raise _for_code(answer.smtp_code) from None
        except smtplib.SMTPResponseException as answer:  # about us, not about this text
            raise OSError(f"the relay does not take texts now: {answer.smtp_code}") from None

    def _mail(self, outgoing: Outgoing) -> EmailMessage:
        mail = EmailMessage(policy=SMTP_POLICY)
        mail["From"] = self._sender
        mail["To"] = address_of(outgoing.to, self._domain)
        mail["Date"] = format_datetime(outgoing.sent_at.astimezone(UTC))
        # The key decides the id: a text handed over twice can be recognised by the receiver.
        key = hashlib.sha256(stable_id(outgoing).encode()).hexdigest()[:32]
        mail["Message-ID"] = f"<{key}@{self._sender.rpartition('@')[2]}>"
        mail["Auto-Submitted"] = "auto-replied"
        mail.set_content(fold(outgoing.text), cte="quoted-printable")
        return mail


def _for_code(code: int) -> Exception:
    """A relay's 5xx is final; everything else may pass. Its words may hold the number: left out."""
    if 500 <= code < 600:
        return TextRefusedError(f"the relay refused the text with {code}")
    return OSError(f"the relay put the text off with {code}")


class _NoRedirect(urllib.request.HTTPRedirectHandler):
    """A redirected POST would arrive as a GET without its signature."""

    def redirect_request(self, *_: Any, **__: Any) -> None:
        return None


class HttpGateway:
    """A signed POST; the receiver checks the signature and drops ids it has seen."""

    def __init__(
        self, url: str, secret: str, *, patience_seconds: float = PATIENCE_SECONDS
    ) -> None:
        """Post to ``url``, signed with ``secret``.

        Raises:
            ValueError: one of them cannot be used.
        """
        if not url.startswith(("http://", "https://")):
            raise ValueError("the webhook needs an http or https address")
        signature(secret, "", "", b"")  # a secret that cannot be used is found at the start
        self._url = url
        self._secret = secret
        self._patience_seconds = patience_seconds
        self._opener = urllib.request.build_opener(urllib.request.ProxyHandler({}), _NoRedirect())

    def send(self, outgoing: Outgoing) -> None:
        """Post the text; any 2xx means it was taken."""
        key = stable_id(outgoing)
        body = json.dumps(wire_form(outgoing), ensure_ascii=False).encode()
        stamp = str(int(outgoing.sent_at.timestamp()))
        request = urllib.request.Request(  # noqa: S310 - the scheme was checked
            self._url,
            data=body,
            method="POST",
            headers={
                "Content-Type": "application/json; charset=utf-8",
                "webhook-id": key,
                "webhook-timestamp": stamp,
                "webhook-signature": signature(self._secret, key, stamp, body),
            },
        )
        try:
            with self._opener.open(request, timeout=self._patience_seconds):
                return
        except urllib.error.HTTPError as answer:
            code = answer.code
            answer.close()
        except http.client.HTTPException as broken:
            raise OSError(f"the webhook answered with {type(broken).__name__}") from None
        if code >= 500 or code in _TRY_AGAIN:
            raise OSError(f"the webhook put the text off with {code}")
        raise TextRefusedError(f"the webhook refused the text with {code}")


def signature(secret: str, key: str, stamp: str, body: bytes) -> str:
    """``v1,`` and the base64 of HMAC-SHA256 over ``id.timestamp.body``.

    A secret written ``whsec_<base64>`` is decoded first; any other is used as it stands.
    """
    raw = secret.encode()
    if secret.startswith("whsec_"):
        try:
            raw = base64.b64decode(secret.removeprefix("whsec_"), validate=True)
        except binascii.Error:
            raise ValueError("the webhook secret after whsec_ is not base64") from None
    digest = hmac.new(raw, f"{key}.{stamp}.".encode() + body, hashlib.sha256).digest()
    return "v1," + base64.b64encode(digest).decode("ascii")


def make_gateway(settings: Settings) -> Gateway:
    """The adapter the settings name.

    Raises:
        ValueError: the adapter needs a setting that is missing.
    """
    if settings.gateway == "smtp":
        if not settings.smtp_relay:
            raise ValueError("ENDSWITCH_GATEWAY=smtp needs ENDSWITCH_SMTP_RELAY as host:port")
        return SmtpGateway(
            settings.smtp_relay, sender=settings.intake_address, domain=settings.sms_domain
        )
    if settings.gateway == "http":
        if not settings.webhook_url or settings.webhook_secret is None:
            raise ValueError(
                "ENDSWITCH_GATEWAY=http needs ENDSWITCH_WEBHOOK_URL and ENDSWITCH_WEBHOOK_SECRET"
            )
        return HttpGateway(settings.webhook_url, settings.webhook_secret.get_secret_value())
    return FileGateway(settings.state / "outbox.jsonl")
