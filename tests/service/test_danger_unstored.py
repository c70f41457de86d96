"""With a database that cannot be used, people in danger are still told to leave."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from whole_service import Running, mobile

from service.settings import Settings


def _break(service: Running) -> None:
    """Put something that is no database where the database was."""
    settings: Settings = service.services.settings
    service.services.db.engine.dispose()
    for path in settings.state.glob("endswitch.db*"):
        path.unlink()
    Path(settings.state / "endswitch.db").write_bytes(b"this is no database " * 400)


def _post(service: Running, text: str, sender: str = mobile("1A")) -> tuple[int, dict[str, Any]]:
    body = {"id": "d-1", "from": sender, "to": "+12125550199", "text": text, "sent_at": None}
    answer = service.call("POST", "/api/v1/texts", "gateway", json=body)
    if answer.status_code == 503:
        assert answer.headers["content-type"] == "application/problem+json"
        assert int(answer.headers["retry-after"]) > 0
    return answer.status_code, answer.json()


@pytest.mark.parametrize(
    ("text", "begins"),
    [
        ("I smell gas in the kitchen", "Leave now with everyone."),
        ("huele a gas en la cocina", "Salgan todos ya."),
        ("the carbon monoxide alarm is going off", "Get everyone out to fresh air now."),
    ],
)
def test_the_refusal_carries_the_leave_now_text(service: Running, text: str, begins: str) -> None:
    """503 with what the gateway should send by itself, in the language of the text."""
    _break(service)

    status, answer = _post(service, text)

    assert status == 503
    assert answer["status"] == 503
    (reply,) = answer["replies"]
    assert reply["to"] == mobile("1A")
    assert reply["text"].startswith(begins)
    assert "911" in reply["text"]
    assert reply["segments"] <= 2
    assert reply["asks"] is None


def test_other_texts_are_refused_without_replies(service: Running) -> None:
    """An ordinary complaint is delivered again later."""
    _break(service)

    assert _post(service, "no heat")[1]["replies"] == []


def test_an_odd_body_is_refused_too(service: Running) -> None:
    """Whatever was sent, a broken database is a 503 and no crash."""
    _break(service)

    for content in (b"", b"[]", b'{"from": 1}', b'{"text": "gas"}', b"\xff", b"[" * 5000):
        answer = service.call("POST", "/api/v1/texts", "gateway", content=content)
        assert answer.status_code == 503
        assert answer.json()["replies"] == []


def test_without_a_token_nothing_is_said(service: Running) -> None:
    """Whoever does not even claim to be the gateway is asked to sign in."""
    _break(service)

    assert service.call("POST", "/api/v1/texts", json={"text": "I smell gas"}).status_code == 401
