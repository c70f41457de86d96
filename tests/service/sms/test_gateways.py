"""Texts leave: to a file, over a real relay on loopback, to a real web server on loopback."""

from __future__ import annotations

import base64
import email
import email.policy
import hashlib
import hmac
import json
import smtplib
import socket
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from email.message import EmailMessage
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from pydantic import SecretStr
from smtp_wire import ADDRESS, StartIntake

from service.settings import Settings
from service.sms.gateways import (
    FileGateway,
    HttpGateway,
    SmtpGateway,
    TextRefusedError,
    make_gateway,
    signature,
    stable_id,
)
from service.usecases.rows.services import Outgoing

NOW = datetime(2026, 1, 10, 1, 0, tzinfo=UTC)
ASKS = {"topic": "q_hot", "choices": [{"say": "1", "means": "hot"}]}
TEXT = Outgoing(
    key="o_1",
    to="+12125550123",
    text="¿Está fría? “1 sí”",
    segments=1,
    send_at=NOW,
    sent_at=NOW + timedelta(seconds=2),
    asks=ASKS,
)


@dataclass
class Hook:
    """What a web server answers and what it was sent."""

    status: int = 204
    location: str | None = None
    requests: list[tuple[str, dict[str, str], bytes]] = field(default_factory=list)
    url: str = ""


@pytest.fixture
def hook() -> Iterator[Hook]:
    """A web server on loopback."""
    told = Hook()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["content-length"]))
            told.requests.append(("POST", {k.lower(): v for k, v in self.headers.items()}, body))
            self.send_response(told.status)
            if told.location:
                self.send_header("location", told.location)
            self.send_header("content-length", "0")
            self.end_headers()

        def do_GET(self) -> None:
            told.requests.append(("GET", {}, b""))
            self.send_response(200)
            self.end_headers()

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    serving = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    serving.start()
    told.url = f"http://127.0.0.1:{server.server_address[1]}/texts"
    yield told
    server.shutdown()
    serving.join()
    server.server_close()


def test_the_file_holds_one_reply_a_line(tmp_path: Path) -> None:
    """Each line is a reply of the API with when it was sent, folded before it was counted."""
    gateway = FileGateway(tmp_path / "state" / "outbox.jsonl")
    gateway.send(TEXT)
    gateway.send(replace(TEXT, text="á" * 160, segments=3, asks=None))
    lines = (tmp_path / "state" / "outbox.jsonl").read_text(encoding="utf-8").splitlines()
    first, second = (json.loads(line) for line in lines)
    assert {k: first[k] for k in ("to", "text", "segments", "asks")} == {
        "to": "+12125550123",
        "text": '¿Esta fria? "1 si"',
        "segments": 1,
        "asks": ASKS,
    }
    assert datetime.fromisoformat(first["send_at"]) == NOW
    assert datetime.fromisoformat(first["sent_at"]) == NOW + timedelta(seconds=2)
    assert (second["text"], second["segments"], second["asks"]) == ("a" * 160, 1, None)


def test_lines_of_many_threads_stay_whole(tmp_path: Path) -> None:
    """Eight writers at once leave eighty readable lines."""
    gateway = FileGateway(tmp_path / "outbox.jsonl")
    together = threading.Barrier(8)

    def write() -> None:
        together.wait()
        for _ in range(10):
            gateway.send(TEXT)

    threads = [threading.Thread(target=write) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    lines = (tmp_path / "outbox.jsonl").read_text(encoding="utf-8").splitlines()
    assert [json.loads(line)["to"] for line in lines] == ["+12125550123"] * 80


def _relay(port: int) -> SmtpGateway:
    return SmtpGateway(f"127.0.0.1:{port}", sender="heat@endswitch.example", domain="sms.example")


def test_the_relay_gets_a_mail_that_robots_leave_alone(tmp_path: Path) -> None:
    """The mail names the number, says that a program wrote it, and keeps its id."""
    del tmp_path
    gateway = _relay(25)
    one = gateway._mail(TEXT)
    again = gateway._mail(replace(TEXT, sent_at=NOW + timedelta(hours=1)))
    other = gateway._mail(replace(TEXT, key="o_2"))
    read = email.message_from_bytes(one.as_bytes(), policy=email.policy.default)
    assert isinstance(read, EmailMessage)
    assert read["To"] == "+12125550123@sms.example"
    assert read["Auto-Submitted"] == "auto-replied"  # RFC 3834 section 5
    assert read.get_content().strip() == '¿Esta fria? "1 si"'
    assert one["Message-ID"] == again["Message-ID"] != other["Message-ID"]


def test_the_relay_takes_the_mail_over_the_wire(start_intake: StartIntake) -> None:
    """A text handed to a real server arrives; one it refuses for good is refused for good."""
    kept: list[bytes] = []
    intake = start_intake(lambda _sender, _recipients, raw: kept.append(raw))
    gateway = SmtpGateway(f"127.0.0.1:{intake.port}", sender=ADDRESS, domain="sms.example")
    with pytest.raises(TextRefusedError, match="550"):
        gateway.send(TEXT)  # this server takes mail for one address only
    local, _, domain = ADDRESS.partition("@")
    SmtpGateway(f"127.0.0.1:{intake.port}", sender=ADDRESS, domain=domain).send(
        replace(TEXT, to=local)
    )
    assert len(kept) == 1
    assert b"Auto-Submitted: auto-replied" in kept[0]


def test_a_relay_that_cannot_store_now_is_tried_again(start_intake: StartIntake) -> None:
    """A 451 is an OSError that is not one of the library's, whose words may hold the number."""

    def full(_sender: str, _recipients: tuple[str, ...], _raw: bytes) -> None:
        raise RuntimeError("disk full")

    intake = start_intake(full)
    local, _, domain = ADDRESS.partition("@")
    gateway = SmtpGateway(f"127.0.0.1:{intake.port}", sender=ADDRESS, domain=domain)
    with pytest.raises(OSError, match="451") as put_off:
        gateway.send(replace(TEXT, to=local))
    assert not isinstance(put_off.value, smtplib.SMTPException)


def test_nobody_listening_is_tried_again() -> None:
    """A refused connection is an OSError for both network adapters."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
    with pytest.raises(OSError, match="refused"):
        _relay(port).send(TEXT)
    with pytest.raises(OSError, match="refused"):
        HttpGateway(f"http://127.0.0.1:{port}/", "s").send(TEXT)


def test_a_silent_peer_does_not_hold_us(hook: Hook) -> None:
    """A server that takes the connection and says nothing costs the patience and no more."""
    del hook
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
        relay = SmtpGateway(
            f"127.0.0.1:{port}", sender=ADDRESS, domain="sms.example", patience_seconds=0.2
        )
        with pytest.raises(OSError, match="timed out"):
            relay.send(TEXT)
        web = HttpGateway(f"http://127.0.0.1:{port}/", "s", patience_seconds=0.2)
        with pytest.raises(OSError, match="timed out"):
            web.send(TEXT)


def test_the_webhook_is_signed(hook: Hook) -> None:
    """The receiver can check id, time and body with the shared secret."""
    HttpGateway(hook.url, "made-up secret").send(TEXT)
    ((_, headers, body),) = hook.requests
    assert json.loads(body)["text"] == '¿Esta fria? "1 si"'
    assert headers["webhook-id"] == stable_id(TEXT)
    assert headers["webhook-timestamp"] == str(int(TEXT.sent_at.timestamp()))
    signed = f"{headers['webhook-id']}.{headers['webhook-timestamp']}.".encode() + body
    digest = hmac.new(b"made-up secret", signed, hashlib.sha256).digest()
    assert headers["webhook-signature"] == "v1," + base64.b64encode(digest).decode()


def test_the_signature_is_the_standard_one() -> None:
    """A known answer: the example of the Standard Webhooks specification, value from memory."""
    given = signature(
        "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw",
        "msg_p5jXN8AQM9LWM0D4loKWxJek",
        "1614265330",
        b'{"test": 2432232314}',
    )
    assert given == "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


@pytest.mark.parametrize(
    ("status", "error"),
    [
        (500, OSError),
        (503, OSError),
        (429, OSError),
        (401, OSError),
        (404, OSError),
        (400, TextRefusedError),
        (410, TextRefusedError),
    ],
)
def test_refusals_of_the_webhook_are_told_apart(
    hook: Hook, status: int, error: type[Exception]
) -> None:
    """What may pass, or be put right by whoever runs us, is an OSError; what will not is refused."""
    hook.status = status
    with pytest.raises(error, match=str(status)):
        HttpGateway(hook.url, "s").send(TEXT)


def test_a_redirect_is_not_followed(hook: Hook) -> None:
    """A moved webhook would get a GET without the text; it is refused instead."""
    hook.status, hook.location = 302, hook.url
    with pytest.raises(TextRefusedError, match="302"):
        HttpGateway(hook.url, "s").send(TEXT)
    assert [method for method, _, _ in hook.requests] == ["POST"]


def test_the_settings_choose_the_adapter(tmp_path: Path) -> None:
    """File, relay or webhook; a missing setting is named."""
    assert isinstance(make_gateway(Settings(state=tmp_path)), FileGateway)
    relay = Settings(gateway="smtp", smtp_relay="relay.example:25")
    assert isinstance(make_gateway(relay), SmtpGateway)
    web = Settings(
        gateway="http", webhook_url="https://web.example/", webhook_secret=SecretStr("s")
    )
    assert isinstance(make_gateway(web), HttpGateway)
    with pytest.raises(ValueError, match="ENDSWITCH_SMTP_RELAY"):
        make_gateway(Settings(gateway="smtp"))
    with pytest.raises(ValueError, match="ENDSWITCH_WEBHOOK_URL"):
        make_gateway(Settings(gateway="http"))
    with pytest.raises(ValueError, match="not base64"):
        HttpGateway("https://web.example/", "whsec_?")
    with pytest.raises(ValueError, match="http or https"):
        HttpGateway("file:///etc/passwd", "s")
