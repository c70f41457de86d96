"""Logs of a whole story hold no number, no name, no word of a tenant and no token."""

from __future__ import annotations

import io
import logging
from collections.abc import Iterator

import pytest
import structlog
from whole_service import KeepingGateway, Running, household_rows, mobile, spoil_conversation

from service.telemetry.logs import setup_logging


@pytest.fixture
def logged() -> Iterator[io.StringIO]:
    """Everything that is logged, as it would be written in production."""
    stream = io.StringIO()
    root = logging.getLogger()
    kept = (root.handlers[:], root.level)
    setup_logging("json", stream)
    yield stream
    root.handlers[:], level = kept
    root.setLevel(level)
    structlog.reset_defaults()


def test_a_story_leaves_no_personal_word_in_the_logs(
    logged: io.StringIO, service: Running, gateway: KeepingGateway
) -> None:
    """Complaint, danger, a broken gateway and a crash whose words quote the tenant."""
    gateway.failures_left = 3
    service.text(mobile("1A"), "no heat, my umbrella is frozen")
    service.text("+12125550188", "I smell gas near the umbrella")
    spoil_conversation(
        service, mobile("1B"), state="umbrella +12125550111"
    )  # as its error will say
    body = {"id": "u@1", "from": mobile("1B"), "to": "", "text": "umbrella", "sent_at": None}
    service.call("POST", "/api/v1/texts", "gateway", json=body)
    service.call("GET", f"/api/v1/complaints/{mobile('1A')}", "desk")
    service.wait(minutes=5)

    text = logged.getvalue()
    assert "/api/v1/texts" in text
    assert "text not decided" in text
    secret = [row["name"] for row in household_rows()] + list(service.tokens.values())
    numbers = [mobile("1A"), mobile("1B"), "+12125550188"]
    for word in (*secret, *numbers, *(n[-7:] for n in numbers), "umbrella"):
        assert word not in text
